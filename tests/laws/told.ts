import type { Telemetry } from '../../sim/telemetry.ts';
import { play, scenarioText } from '../helpers/sites.ts';

/** Every frame and happening of a run, as text that names the channels: a difference shows where it began. */
export function told(text: string, restless: boolean): string[] {
  const lines: string[] = [];
  let names: readonly string[] = [];
  const take = (telemetry: Telemetry): void => {
    if (telemetry.kind === 'head') names = telemetry.channels.map(({ name }) => name);
    if (telemetry.kind === 'happening') lines.push(`${telemetry.at_us} ${telemetry.piece} ${telemetry.did}`);
    if (telemetry.kind !== 'frame') return;
    const { at_us, changed, values } = telemetry;
    lines.push(`${at_us} ${changed.map((i) => `${names[i]}=${values[i]}`).join(' ')}`);
  };
  play(scenarioText(text), { restless, telemetry: take });
  return lines;
}
