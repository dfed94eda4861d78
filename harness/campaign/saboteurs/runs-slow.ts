import type { Saboteur } from './saboteur.ts';
import { wrapped } from './wrapped.ts';

const TOO_SLOW_mHz = 59_200;

export const runsSlow: Saboteur = {
  id: 'runs-slow',
  wrong: 'has every island run at 59.2 Hz, so that clocks and motors in it fall behind',
  caughtBy: [{ rule: 'island-quality', scenarios: ['near/island-quality-inside'] }],
  make: wrapped({ orders: (outputs) => ({ ...outputs, islandFrequency: TOO_SLOW_mHz }) }),
};
