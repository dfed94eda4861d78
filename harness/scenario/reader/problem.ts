/** What can be wrong with a file, by its stable code, in one sentence each. */
export const CODES = {
  'SCN-SIZE': 'The file is larger or longer than any scenario or site needs to be.',
  'SCN-TEXT': 'The file is no UTF-8 text.',
  'SCN-YAML': 'The file is not written in YAML, or uses a part of YAML that these files do without.',
  'SCN-NEST': 'Lists and mappings stand inside each other too deep.',
  'SCN-ALIAS': 'An alias names nothing, or aliases together stand for too much text.',
  'SCN-KEY': 'A key is not known here.',
  'SCN-TWICE': 'A key or an id is given twice.',
  'SCN-MISSING': 'A key that must be given is missing.',
  'SCN-VALUE': 'A value is of the wrong sort, or is none of the words that may stand there.',
  'SCN-UNIT': 'A quantity has no unit, or one that does not fit.',
  'SCN-RANGE': 'A number lies outside what is allowed.',
  'SCN-TIME': 'A time lies before the start or after the end, or is no whole number of microseconds.',
  'SCN-REF': 'A name refers to nothing in this scenario or its site.',
  'SCN-CYCLE': 'Happenings wait for each other in a circle.',
  'SCN-KIND': 'A site stands where a scenario is expected, or the other way round.',
  'SCN-SITE': 'The site file cannot be read.',
  'SITE-UTILITY': 'A site has exactly one utility.',
  'SITE-BUS': 'A piece of equipment must be attached to buses of the site.',
  'SITE-LOOP': 'The network must be radial: no loop.',
  'SITE-REACH': 'Each bus must be joined to the utility when all devices are closed.',
  'SITE-RATING': 'A device that carries current needs a rating above zero.',
  'SITE-REF': 'A parameter names another piece that is not there, or is of another kind.',
  'SITE-CUT': 'With the isolation relays open no chain of line conductors may join a forming source to the service.',
  'SITE-RELAY': 'A relay that falls closed on loss of supply cannot isolate a forming source.',
  'SITE-BOND': 'There must be one bond from neutral to earth in each mode.',
  'SITE-NEUTRAL': 'Each island with a load from line to neutral needs something that makes the neutral.',
  'SITE-FORMER': 'The contactor of a neutral former must not be held by the voltage that it serves.',
  'SITE-SYNC': 'A closed transition needs a sync check.',
  'SITE-LOCK': 'The relay whose contact carries the enable of a forming source must isolate that source by itself.',
  'SITE-MAIN': 'The gateway reads the contact of one breaker: the main must be marked, and be one.',
  'SITE-TAPS': 'The gateway measures on both sides of one relay: it must stand between forming source and service.',
  'SITE-LIMIT': 'Where ratings meet the smallest rules: nothing may be set or built to carry more than it.',
  'SITE-SURPLUS': 'PV in an island may not bring more than its forming source bears when the battery is full.',
  'SITE-HAND': 'To stay dark after an opening by hand, the position of the main breaker must be known.',
} as const;

export type Code = keyof typeof CODES;

/** What is wrong, apart from how it is said and from where it stands. */
export interface Fault {
  readonly code: Code;
  readonly found: string;
  readonly expected: string;
  /** A whole sentence without its full stop; empty where there is nothing to advise. */
  readonly mend: string;
}

export interface Problem extends Fault {
  readonly file: string;
  /** Both from 1; columns count UTF-16 units. */
  readonly line: number;
  readonly column: number;
  /** Characters to mark in the frame. */
  readonly width: number;
  /** `relay.openTravel`, `happenings[2].do`; empty for the file as a whole. */
  readonly path: string;
  /** The line as it stands in the file. */
  readonly source: string;
}

const FRAME_WIDTH = 100;

/** `file:line:column path: found X; expected Y. Mend. [CODE]` */
export function problemLine(problem: Problem): string {
  const where = `${problem.file}:${problem.line}:${problem.column}`;
  const path = problem.path === '' ? '' : ` ${problem.path}`;
  const mend = problem.mend === '' ? '' : ` ${problem.mend}${/[.?!]$/.test(problem.mend) ? '' : '.'}`;
  return printable(`${where}${path}: found ${problem.found}; expected ${problem.expected}.${mend} [${problem.code}]`);
}

/** The line that is meant with a caret under what is wrong; a long line is cut around it. */
export function problemFrame(problem: Problem): string {
  const start = problem.column > FRAME_WIDTH - 20 ? problem.column - 21 : 0;
  const shown = printable(problem.source.slice(start, start + FRAME_WIDTH));
  const width = Math.max(1, Math.min(problem.width, FRAME_WIDTH - (problem.column - 1 - start)));
  const margin = String(problem.line);
  const caret = ' '.repeat(problem.column - 1 - start) + '^'.repeat(width);
  return `  ${margin} | ${shown}\n  ${' '.repeat(margin.length)} | ${caret}`;
}

/** All problems with their frames, at most `most` of them, then how many were left out. */
export function problemReport(problems: readonly Problem[], most = 50): string {
  const said = problems.slice(0, most).map((problem) => `${problemLine(problem)}\n${problemFrame(problem)}\n`);
  const left = problems.length - said.length;
  return said.join('') + (left > 0 ? `and ${left} more\n` : '');
}

/** Text of a file made fit to be printed: no control character gets to the terminal, one character stays one. */
export function printable(text: string): string {
  // biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what it looks for.
  return text.replace(/[\u0000-\u001f\u007f-\u009f\ufeff\u202a-\u202e\u2066-\u2069]/g, (mark) =>
    mark === '\t' ? ' ' : '·',
  );
}

/** A value of the file as a message quotes it. */
export function quoted(text: string): string {
  if (text === '') return 'nothing';
  const shown = printable(text);
  return shown.length > 60 ? `"${shown.slice(0, 57)}…"` : `"${shown}"`;
}

const fileRank = (files: readonly string[], file: string) => files.indexOf(file);

/** Sorted by file in the order given, then by place; the same problem met twice through an alias is kept once. */
export function inOrder(problems: readonly Problem[], files: readonly string[]): readonly Problem[] {
  const sorted = [...problems].sort(
    (a, b) => fileRank(files, a.file) - fileRank(files, b.file) || a.line - b.line || a.column - b.column,
  );
  const seen = new Set<string>();
  return sorted.filter((problem) => {
    const line = problemLine(problem);
    if (seen.has(line)) return false;
    seen.add(line);
    return true;
  });
}
