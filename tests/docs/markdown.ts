// What the documents are made of, and how they are read again: tables, headings, links, fenced blocks.

/** A cell must not end the table that it stands in. */
const cell = (text: string): string => text.replaceAll('|', '\\|').replace(/\s+/g, ' ').trim();

export function table(heads: readonly string[], rows: readonly (readonly string[])[]): string {
  const line = (cells: readonly string[]): string => `| ${cells.map(cell).join(' | ')} |`;
  return [line(heads), line(heads.map(() => '---')), ...rows.map(line)].join('\n');
}

/** A fenced block: the word after the fence, and the text inside. */
export interface Fenced {
  readonly language: string;
  readonly text: string;
}

export function fencedBlocks(markdown: string): Fenced[] {
  const found = [...markdown.matchAll(/^(?:```)([^\n`]*)\n([\s\S]*?)^```$/gm)];
  return found.map(([, language = '', text = '']) => ({ language: language.trim(), text }));
}

const withoutCode = (markdown: string): string => markdown.replace(/^```[\s\S]*?^```$/gm, '').replace(/`[^`\n]*`/g, '');

/** Targets of the links in a text, code left out. */
export function linksIn(markdown: string): string[] {
  return [...withoutCode(markdown).matchAll(/\]\(([^)\s]+)\)/g)].map(([, target = '']) => target);
}

/** Fragments that a link may end in: headings as the usual hosts write them, and anchors. */
export function fragmentsOf(markdown: string): Set<string> {
  const prose = markdown.replace(/^```[\s\S]*?^```$/gm, '');
  const headings = [...prose.matchAll(/^#{1,6} +(.+)$/gm)].map(([, text = '']) =>
    text
      .toLowerCase()
      .replace(/[^\p{L}\p{N}\s_-]/gu, '')
      .trim()
      .replace(/\s/g, '-'),
  );
  const anchors = [...prose.matchAll(/<a id="([^"]+)">/g)].map(([, id = '']) => id);
  return new Set([...headings, ...anchors]);
}
