import ts from 'typescript';

/** A finding as "path:line: what, and what to use instead". */
export type Untidy = string;

interface Ban {
  readonly what: RegExp;
  readonly instead: string;
}

export const LINES_OF_FILE_MAX = 420;
export const LINES_OF_FUNCTION_MAX = 90;

/** Names and dotted names. Comments and texts may mention them, code may not. */
const BANS: readonly Ban[] = [
  { what: /(^|\.)localeCompare$/, instead: 'compare with < and >: the order of letters differs between machines' },
  { what: /(^|\.)toLocale\w+$/, instead: 'sim/units.ts prints numbers and times the same on every machine' },
  { what: /^(globalThis\.)?Intl(\.|$)/, instead: 'sim/units.ts prints numbers and times the same on every machine' },
  { what: /^(globalThis\.)?Math\.random$/, instead: 'the seeded streams of sim/time/chance.ts' },
  { what: /^(globalThis\.)?Date\.now$/, instead: 'Kernel.now_us, or at_us of the telemetry' },
  { what: /^(globalThis\.)?performance\.now$/, instead: 'Kernel.now_us, or at_us of the telemetry' },
];

/** Only for sim/, where everything happens in one go. */
const BANS_OF_CORE: readonly Ban[] = [
  { what: /^Promise(\.|$)/, instead: 'the core is synchronous: a timer of the kernel' },
];

/** All that is untidy in one source file. */
export function untidyIn(path: string, text: string): Untidy[] {
  const source = ts.createSourceFile(path, text, ts.ScriptTarget.ES2023, true);
  const bans = path.startsWith('sim/') ? [...BANS, ...BANS_OF_CORE] : BANS;
  const found: Untidy[] = [];
  const lineOf = (position: number): number => source.getLineAndCharacterOfPosition(position).line + 1;
  const add = (node: ts.Node, what: string): void => {
    found.push(`${path}:${lineOf(node.getStart())}: ${what}`);
  };

  const lines = text.split('\n').length - 1;
  if (lines > LINES_OF_FILE_MAX) found.push(`${path}:1: ${lines} lines, at most ${LINES_OF_FILE_MAX}: look for a seam`);

  const visit = (node: ts.Node): void => {
    const name = dottedName(node);
    for (const { what, instead } of bans) {
      if (name !== undefined && what.test(name)) add(node, `${name}: use instead: ${instead}`);
    }
    if (path.startsWith('sim/') && node.kind === ts.SyntaxKind.AsyncKeyword)
      add(node, 'async: the core is synchronous');
    if (ts.isFunctionLike(node) && 'body' in node && node.body !== undefined) {
      const length = lineOf(node.getEnd()) - lineOf(node.getStart()) + 1;
      if (length > LINES_OF_FUNCTION_MAX) add(node, `function of ${length} lines, at most ${LINES_OF_FUNCTION_MAX}`);
    }
    ts.forEachChild(node, visit);
  };
  visit(source);
  return found;
}

/** "Math.random" of a property access; the name alone of an identifier that stands for itself. */
function dottedName(node: ts.Node): string | undefined {
  if (ts.isPropertyAccessExpression(node)) return node.getText().replace(/\s|\?/g, '');
  const isPartOfAccess = node.parent !== undefined && ts.isPropertyAccessExpression(node.parent);
  return ts.isIdentifier(node) && !isPartOfAccess ? node.text : undefined;
}
