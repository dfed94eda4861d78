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
    const near = nearest(kind, ['reference', 'module']);
    const hint =
      near === undefined
        ? ''
        : ` Did you mean ${near === 'module' ? `module:${colon < 0 ? 'FILE' : text.slice(colon + 1)}` : near}?`;
    return `--controller: found ${JSON.stringify(text)}; expected reference or module:FILE.${hint}`;
  }
  const path = resolve(cwd, text.slice(colon + 1));
  if (!existsSync(path) || !statSync(path).isFile()) return `--controller: ${text.slice(colon + 1)}: no such file`;
  const label = relative(cwd, path).split(sep).join('/');
  return { kind: 'module', name: `module:${label.startsWith('..') ? label : `./${label}`}`, path };
}
