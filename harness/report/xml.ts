/** An element: attributes in the order given, and either children or text. */
export interface Element {
  readonly name: string;
  readonly attributes: readonly (readonly [name: string, value: string])[];
  readonly children: readonly (Element | string)[];
}

export const element = (
  name: string,
  attributes: Readonly<Record<string, string>>,
  children: readonly (Element | string)[] = [],
): Element => ({ name, attributes: Object.entries(attributes), children });

/** A document with declaration, two blanks to a level, newline at the end. */
export const document = (root: Element): string => `<?xml version="1.0" encoding="UTF-8"?>\n${render(root, '')}\n`;

function render({ name, attributes, children }: Element, indent: string): string {
  const open = `${indent}<${name}${attributes.map(([key, value]) => ` ${key}="${attribute(value)}"`).join('')}`;
  if (children.length === 0) return `${open}/>`;
  const isText = children.every((child) => typeof child === 'string');
  // Text stands without added blanks, which would become part of it.
  if (isText) return `${open}>${children.map((child) => content(child as string)).join('')}</${name}>`;
  const inner = children.map((child) =>
    typeof child === 'string' ? `${indent}  ${content(child)}` : render(child, `${indent}  `),
  );
  return `${open}>\n${inner.join('\n')}\n${indent}</${name}>`;
}

/** XML 1.0, section 2.2: no control characters but tab, newline and return, no lone surrogates, no U+FFFE and U+FFFF. */
// biome-ignore lint/suspicious/noControlCharactersInRegex: these are the characters to be taken out
const forbidden = /[\u0000-\u0008\u000b\u000c\u000e-\u001f\ufffe\uffff]|\p{Surrogate}/gu;

export const allowed = (text: string): string => text.replace(forbidden, '');

const content = (text: string): string =>
  allowed(text).replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;').replaceAll('\r', '&#13;');

/** Newlines and tabs as references, or the reader turns them into blanks. */
const attribute = (text: string): string =>
  content(text).replaceAll('"', '&quot;').replaceAll('\n', '&#10;').replaceAll('\t', '&#9;');
