import { existsSync, statSync } from 'node:fs';
import { relative, resolve, sep } from 'node:path';
import { nearest } from '../scenario/reader/nearest.ts';

/** Which controller to attach, as the option names it. */
export type ControllerSpec =
  | { readonly kind: 'reference'; readonly name: 'reference' }
  /** `name` is what reports print, `path` where the file is. */
  | { readonly kind: 'module'; readonly name: string; readonly path: string };

/** Reads `reference` or `module:FILE`. A string is a complaint. */
export function controllerSpec(text: string, cwd: string): ControllerSpec | string {
  if (text === 'reference') return { kind: 'reference', name: 'reference' };
  const colon = text.indexOf(':');
  const kind = colon < 0 ? text : text.slice(0, colon);
  if (colon < 0 || kind !== 'module') {
    const meant = meantBy(text, cwd);
    const hint = meant === undefined ? '' : ` Did you mean ${meant}?`;
    return `--controller: found ${JSON.stringify(text)}; expected reference or module:FILE.${hint}`;
  }
  const path = resolve(cwd, text.slice(colon + 1));
  if (!existsSync(path) || !statSync(path).isFile()) return `--controller: ${text.slice(colon + 1)}: no such file`;
  const label = relative(cwd, path).split(sep).join('/');
  return { kind: 'module', name: `module:${label.startsWith('..') ? label : `./${label}`}`, path };
}

/** A file without `module:` before it, a word that is nearly one of the two, or nothing. */
function meantBy(text: string, cwd: string): string | undefined {
  const path = resolve(cwd, text);
  const isFile = existsSync(path) && statSync(path).isFile();
  if (!text.includes(':') && (isFile || /\.[mc]?[jt]s$/.test(text)))
    return `module:${/^\.{0,2}\//.test(text) ? text : `./${text}`}`;
  const [kind = '', ...file] = text.split(':');
  const near = nearest(kind, ['reference', 'module']);
  if (near !== 'module') return near;
  return `module:${file.length === 0 ? 'FILE' : file.join(':')}`;
}
