import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { pathToFileURL } from 'node:url';
import type { Controller } from '../../sim/gateway/boundary.ts';

/** The module cannot be used as a controller: the user's file, not our fault and not yet a verdict. */
export class ControllerRefused extends Error {
  override readonly name = 'ControllerRefused';
}

const PARTS = ['boot', 'scan', 'digestState'] as const;
const wanted =
  'boot, scan and digestState, each by its name, or together in a default export (or one named "controller"), or a function there that makes them';

/**
 * Loads a controller from a JavaScript or TypeScript module (TypeScript through jiti, which strips types and checks none): its default
 * export, else the one named `controller`, else the module itself.
 *
 * @throws ControllerRefused when it does not load or exports no controller
 */
export async function loadController(path: string, name: string): Promise<Controller> {
  try {
    const module = (
      /\.[mc]?tsx?$/.test(path) ? await importTypeScript(path) : await import(pathToFileURL(path).href)
    ) as Record<string, unknown>;
    return controllerIn(module);
  } catch (cause) {
    const why = cause instanceof Error ? cause.message : String(cause);
    throw new ControllerRefused(`${name}: ${why}`);
  }
}

function controllerIn(module: Record<string, unknown>): Controller {
  const named = (
    [
      ['a default', module['default']],
      ['controller', module['controller']],
    ] as const
  ).filter(([, exported]) => exported !== undefined);
  const complaints: string[] = [];
  for (const [what, exported] of named) {
    const made: unknown = typeof exported === 'function' ? (exported as () => unknown)() : exported;
    const missing = missingIn(made);
    if (missing.length === 0) return made as Controller;
    const whose = made === exported ? what : `${what} that makes something`;
    complaints.push(`${whose} without ${listed(missing, 'or')}`);
  }
  const missing = missingIn(module);
  if (missing.length === 0) return module as unknown as Controller;
  const own = PARTS.filter((part) => !missing.includes(part));
  if (own.length > 0) complaints.push(`${listed(own, 'and')} without ${listed(missing, 'or')}`);
  const exported = complaints.length > 0 ? complaints.join(', and ') : Object.keys(module).join(', ') || 'nothing';
  throw new ControllerRefused(`exports ${exported}; expected ${wanted}`);
}

async function importTypeScript(path: string): Promise<unknown> {
  const { createJiti } = await import('jiti'); // Only here: it costs a tenth of a second.
  return createJiti(import.meta.url, { fsCache: false, moduleCache: false, interopDefault: false }).import(path);
}

/** Parts of a controller that a value has not. */
function missingIn(value: unknown): readonly string[] {
  const parts = typeof value === 'object' ? (value as Record<string, unknown> | null) : null;
  return PARTS.filter((part) => typeof parts?.[part] !== 'function');
}

const listed = (words: readonly string[], joint: 'and' | 'or'): string =>
  words.length < 2 ? words.join('') : `${words.slice(0, -1).join(', ')} ${joint} ${words.at(-1)}`;

/** SHA-256 of the file's bytes. What it imports is not followed. */
export const digestOfFile = (path: string): string => createHash('sha256').update(readFileSync(path)).digest('hex');
