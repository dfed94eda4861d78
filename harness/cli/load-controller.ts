import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { pathToFileURL } from 'node:url';
import type { Controller } from '../../sim/gateway/boundary.ts';

/** The module cannot be used as a controller: the user's file, not our fault and not yet a verdict. */
export class ControllerRefused extends Error {
  override readonly name = 'ControllerRefused';
}

const wanted =
  'a default export (or one named "controller") that has boot, scan and digestState, or a function that makes one';

/**
 * Loads a controller from a JavaScript or TypeScript module (TypeScript through jiti, which strips types and checks none).
 *
 * @throws ControllerRefused when it does not load or exports no controller
 */
export async function loadController(path: string, name: string): Promise<Controller> {
  try {
    const module = (
      /\.[mc]?tsx?$/.test(path) ? await importTypeScript(path) : await import(pathToFileURL(path).href)
    ) as Record<string, unknown>;
    // Where there is no default export, TypeScript's loader gives the module itself for one.
    const named = [module['default'], module['controller']].filter((each) => each !== undefined && each !== module);
    for (const exported of named) {
      const made: unknown = typeof exported === 'function' ? (exported as () => unknown)() : exported;
      if (isController(made)) return made;
    }
    throw new ControllerRefused(`exports ${Object.keys(module).join(', ') || 'nothing'}; expected ${wanted}`);
  } catch (cause) {
    const why = cause instanceof Error ? cause.message : String(cause);
    throw new ControllerRefused(`${name}: ${why}`);
  }
}

async function importTypeScript(path: string): Promise<unknown> {
  const { createJiti } = await import('jiti'); // Only here: it costs a tenth of a second.
  return createJiti(import.meta.url, { fsCache: false, moduleCache: false }).import(path);
}

function isController(value: unknown): value is Controller {
  const parts = value as Record<string, unknown> | null;
  return (
    typeof value === 'object' &&
    parts !== null &&
    ['boot', 'scan', 'digestState'].every((part) => typeof parts[part] === 'function')
  );
}

/** SHA-256 of the file's bytes. What it imports is not followed. */
export const digestOfFile = (path: string): string => createHash('sha256').update(readFileSync(path)).digest('hex');
