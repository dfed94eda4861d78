import { existsSync, statSync } from 'node:fs';
import { relative, resolve, sep } from 'node:path';
import { nearest, oneOf } from '../scenario/reader/nearest.ts';

/** Which controller to attach, as the option names it. `name` is what reports print. */
export type ControllerSpec =
  | { readonly kind: 'reference'; readonly name: 'reference' }
  /** One of ours that is wrong on purpose. */
  | { readonly kind: 'saboteur'; readonly name: string; readonly id: string }
  /** `path` is where the file is. */
  | { readonly kind: 'module'; readonly name: string; readonly path: string };

/** Reads `reference`, `saboteur:NAME` or `module:FILE`. A string is a complaint. */
export function controllerSpec(text: string, cwd: string, saboteurs: readonly string[]): ControllerSpec | string {
  if (text === 'reference') return { kind: 'reference', name: 'reference' };
  const colon = text.indexOf(':');
  const [kind, rest] = colon < 0 ? [text, ''] : [text.slice(0, colon), text.slice(colon + 1)];
  if (colon >= 0 && kind === 'module') return moduleSpec(rest, cwd);
  if (colon >= 0 && kind === 'saboteur') return saboteurSpec(rest, saboteurs);
  const meant = saboteurs.includes(text)
    ? `saboteur:${text}`
    : (fileMeantBy(text, cwd) ?? wholeOf(nearest(kind, KINDS), rest));
  const hint = meant === undefined ? '' : ` Did you mean ${meant}?`;
  return `--controller: found ${JSON.stringify(text)}; expected reference, saboteur:NAME or module:FILE.${hint}`;
}

const KINDS = ['reference', 'saboteur', 'module'];

function wholeOf(kind: string | undefined, rest: string): string | undefined {
  if (kind === 'module') return `module:${rest || 'FILE'}`;
  return kind === 'saboteur' ? `saboteur:${rest || 'NAME'}` : kind;
}

function saboteurSpec(id: string, saboteurs: readonly string[]): ControllerSpec | string {
  if (saboteurs.includes(id)) return { kind: 'saboteur', name: `saboteur:${id}`, id };
  const near = nearest(id, saboteurs);
  const hint = near === undefined ? ` There are ${oneOf(saboteurs)}.` : ` Did you mean saboteur:${near}?`;
  return `--controller: there is no saboteur ${JSON.stringify(id)}.${hint}`;
}

function moduleSpec(file: string, cwd: string): ControllerSpec | string {
  const path = resolve(cwd, file);
  if (!existsSync(path) || !statSync(path).isFile()) return `--controller: ${file}: no such file`;
  const label = relative(cwd, path).split(sep).join('/');
  return { kind: 'module', name: `module:${label.startsWith('..') ? label : `./${label}`}`, path };
}

/** A file without `module:` before it. */
function fileMeantBy(text: string, cwd: string): string | undefined {
  const path = resolve(cwd, text);
  const isFile = existsSync(path) && statSync(path).isFile();
  if (text.includes(':') || !(isFile || /\.[mc]?[jt]s$/.test(text))) return undefined;
  return `module:${/^\.{0,2}\//.test(text) ? text : `./${text}`}`;
}
