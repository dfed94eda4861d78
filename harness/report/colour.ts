export type ColourWish = 'auto' | 'always' | 'never';
export type Colour = 'green' | 'red' | 'yellow' | 'dim' | 'bold';
/** Wraps a text in colour, or leaves it alone. Colour never says anything that the text does not. */
export type Paint = (colour: Colour, text: string) => string;

const codes: Readonly<Record<Colour, readonly [on: number, off: number]>> = {
  green: [32, 39],
  red: [31, 39],
  yellow: [33, 39],
  dim: [2, 22],
  bold: [1, 22],
};

export const plain: Paint = (_colour, text) => text;
export const coloured: Paint = (colour, text) => `\u001b[${codes[colour][0]}m${text}\u001b[${codes[colour][1]}m`;

/** The option first, then NO_COLOR, then FORCE_COLOR, then whether anybody looks. */
export function wantsColour(
  wish: ColourWish,
  env: Readonly<Record<string, string | undefined>>,
  isTerminal: boolean,
): boolean {
  if (wish !== 'auto') return wish === 'always';
  if ((env['NO_COLOR'] ?? '') !== '') return false;
  const forced = env['FORCE_COLOR'];
  if (forced !== undefined) return forced !== '0' && forced !== 'false';
  return isTerminal && env['TERM'] !== 'dumb';
}
