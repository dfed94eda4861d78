import { printable } from '../scenario/reader/problem.ts';

/** Width in columns; every sign that we print takes one. */
export const widthOf = (text: string): number => [...text].length;

export const padEnd = (text: string, width: number): string => text + ' '.repeat(Math.max(0, width - widthOf(text)));
export const padStart = (text: string, width: number): string => ' '.repeat(Math.max(0, width - widthOf(text))) + text;

/** Breaks a text at blanks, and a word that is too long after a hyphen, slash or comma, or where the width ends. Nothing is lost but
 *  control characters, which a file must not be able to send to the terminal. */
export function wrap(text: string, width: number): string[] {
  const lines: string[] = [];
  let line = '';
  for (const word of printable(text)
    .split(' ')
    .filter((part) => part !== '')) {
    if (line !== '' && widthOf(line) + 1 + widthOf(word) <= width) {
      line += ` ${word}`;
      continue;
    }
    if (line !== '') lines.push(line);
    const pieces = breakWord(word, width);
    lines.push(...pieces.slice(0, -1));
    line = pieces.at(-1) ?? '';
  }
  lines.push(line);
  return lines;
}

function breakWord(word: string, width: number): string[] {
  const pieces: string[] = [];
  let rest = [...word];
  while (rest.length > width) {
    const head = rest.slice(0, width);
    const seam = head.findLastIndex((sign) => sign === '-' || sign === '/' || sign === ',') + 1;
    const size = seam > 0 ? seam : width;
    pieces.push(rest.slice(0, size).join(''));
    rest = rest.slice(size);
  }
  pieces.push(rest.join(''));
  return pieces;
}

/** `label  text`, the text wrapped and hung under itself. */
export function hang(indent: number, label: string, labelWidth: number, text: string, columns: number): string[] {
  const left = `${' '.repeat(indent)}${padEnd(label, labelWidth)} `;
  const room = Math.max(20, columns - widthOf(left));
  return wrap(text, room).map((line, row) => (row === 0 ? left : ' '.repeat(widthOf(left))) + line);
}
