/** A strict little reader of XML for tests: it knows no comments, no CDATA, no DTD, and throws at anything not well-formed. */
export interface Node {
  readonly name: string;
  readonly attributes: Readonly<Record<string, string>>;
  readonly children: readonly Node[];
  readonly text: string;
}

const name = '[A-Za-z_][\\w.-]*';
const token = new RegExp(`<(${name})((?: ${name}="[^"<]*")*)(/?)>|</(${name})>|([^<]+)`, 'y');

interface Open {
  readonly name: string;
  readonly attributes: Record<string, string>;
  readonly children: Node[];
  text: string;
}

export function readXml(source: string): Node {
  const declaration = '<?xml version="1.0" encoding="UTF-8"?>\n';
  if (!source.startsWith(declaration)) throw new Error('no declaration');
  const root: Open = { name: '', attributes: {}, children: [], text: '' };
  const open: Open[] = [root];
  token.lastIndex = declaration.length;
  while (token.lastIndex < source.length) {
    const place = token.lastIndex;
    const match = token.exec(source);
    if (match === null) throw new Error(`not well-formed at ${place}: ${source.slice(place, place + 40)}`);
    const [, starts, attributes = '', empty, ends, text] = match;
    const top = open.at(-1)!;
    if (text !== undefined) top.text += unescaped(text);
    else if (ends !== undefined) {
      if (open.length < 2 || top.name !== ends) throw new Error(`</${ends}> closes <${top.name}>`);
      open.pop();
    } else {
      const node: Open = { name: starts!, attributes: attributesOf(attributes), children: [], text: '' };
      top.children.push(node);
      if (empty === '') open.push(node);
    }
  }
  if (open.length !== 1 || root.children.length !== 1 || root.text.trim() !== '')
    throw new Error('not one root, closed');
  return root.children[0]!;
}

function attributesOf(text: string): Record<string, string> {
  const found: Record<string, string> = {};
  for (const [, key, value] of text.matchAll(new RegExp(` (${name})="([^"]*)"`, 'g'))) {
    if (key! in found) throw new Error(`${key} is given twice`);
    found[key!] = unescaped(value!);
  }
  return found;
}

const named: Readonly<Record<string, string>> = { amp: '&', lt: '<', gt: '>', quot: '"' };

function unescaped(text: string): string {
  for (const sign of text) {
    const point = sign.codePointAt(0)!;
    const fine =
      point === 9 ||
      point === 10 ||
      point === 13 ||
      (point >= 32 && point < 0xd800) ||
      (point > 0xdfff && point !== 0xfffe && point !== 0xffff);
    if (!fine) throw new Error(`U+${point.toString(16)} is forbidden`);
  }
  return text.replace(/&(?:#(\d+)|(\w+));|&/g, (whole, number: string | undefined, word: string | undefined) => {
    const value =
      number !== undefined ? String.fromCodePoint(Number(number)) : word !== undefined ? named[word] : undefined;
    if (value === undefined) throw new Error(`${whole} is no reference`);
    return value;
  });
}

export function nodesOf(node: Node, wanted: string): Node[] {
  return [...(node.name === wanted ? [node] : []), ...node.children.flatMap((child) => nodesOf(child, wanted))];
}
