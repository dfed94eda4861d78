import type { KindSpec, ParamSpec, Plain } from '../../../sim/site-description.ts';
import { type Fields, type Node, type Place, type Sheet, under } from './sheet.ts';
import { exampleText, expectedText, readPlain } from './units.ts';

/** Name under which scenarios act on the gateway. */
export const GATEWAY = 'gateway';

/** The kinds of equipment, the site's settings and the gateway as data. Everything that the reader knows of them. */
export interface Tables {
  readonly kinds: readonly KindSpec[];
  readonly settings: readonly ParamSpec[];
  /** The gateway is no piece of the site; where it is given, scenarios act on it under the name `gateway`. */
  readonly gateway?: KindSpec;
}

export interface Params {
  readonly values: Readonly<Record<string, Plain>>;
  /** Source of each value that the file does not give. */
  readonly sources: Readonly<Record<string, string>>;
}

/** One parameter's value; what is wrong with it is reported. */
export function readParam(sheet: Sheet, node: Node, path: string, spec: ParamSpec): Plain | undefined {
  const text = sheet.single(node, path, expectedText(spec));
  if (text === undefined) return undefined;
  const read = readPlain(text, spec);
  if ('value' in read) return read.value;
  sheet.report(node.place, path, read.fault);
  return undefined;
}

/**
 * All parameters of a table from the entries of a mapping, defaults filled in.
 *
 * @param place - where a missing one is reported
 */
export function readParams(
  sheet: Sheet,
  entries: Fields,
  path: string,
  specs: readonly ParamSpec[],
  place: Place,
): Params {
  const values: Record<string, Plain> = {};
  const sources: Record<string, string> = {};
  for (const spec of specs) {
    const entry = entries.get(spec.name);
    if (entry !== undefined) {
      const value = readParam(sheet, entry.value, under(path, spec.name), spec);
      if (value !== undefined) values[spec.name] = value;
    } else if (spec.default !== undefined) {
      values[spec.name] = spec.default;
      sources[spec.name] = spec.source;
    } else if (!entries.meant.has(spec.name)) {
      sheet.missing(place, path, spec.name, expectedText(spec), `Add "${spec.name}: ${exampleText(spec)}".`);
    }
  }
  return { values, sources };
}
