import { existsSync, readdirSync, readFileSync, realpathSync, statSync } from 'node:fs';
import { basename, dirname, join, relative, resolve, sep } from 'node:path';
import { nearest } from '../scenario/reader/nearest.ts';

/** A scenario file: its name in every report, and where it is. */
export interface Selected {
  readonly label: string;
  readonly path: string;
}

export interface Selection {
  readonly files: readonly Selected[];
  /** Arguments that lead nowhere, all of them, in words. */
  readonly problems: readonly string[];
}

const builtIn = 'scenarios';
/** Descriptions of sites, which scenarios use: no scenarios themselves. */
const sitesFolder = 'sites';
/** As large as the reader lets a file be. */
const SITE_MAX_bytes = 1_000_000;

/**
 * Files for the arguments in their order, each once; folders give their *.yaml and *.yml at any depth in plain order, without
 * descriptions of sites and folders named `sites`. No argument: the built-in suite. A name that is not there but is in the package's own `scenarios/` means that one.
 */
export function selectFiles(args: readonly string[], cwd: string, packageRoot: string): Selection {
  const files: Selected[] = [];
  const problems: string[] = [];
  const seen = new Set<string>();
  for (const arg of args.length === 0 ? [join(packageRoot, builtIn)] : args) {
    const found = locate(arg, cwd, packageRoot);
    if (found === undefined) {
      if (args.length > 0) problems.push(missing(arg, cwd));
      continue;
    }
    for (const path of statSync(found).isDirectory() ? scenariosIn(found) : [found]) {
      const real = realpathSync(path);
      if (seen.has(real)) continue;
      seen.add(real);
      files.push({ label: labelOf(path, cwd, packageRoot), path });
    }
  }
  return { files, problems };
}

function locate(arg: string, cwd: string, packageRoot: string): string | undefined {
  const inCwd = resolve(cwd, arg);
  if (existsSync(inCwd)) return inCwd;
  const inPackage = resolve(packageRoot, arg);
  return inside(inPackage, join(packageRoot, builtIn)) && existsSync(inPackage) ? inPackage : undefined;
}

function scenariosIn(folder: string): string[] {
  const entries = readdirSync(folder, { withFileTypes: true });
  entries.sort((a, b) => (a.name < b.name ? -1 : a.name > b.name ? 1 : 0));
  return entries.flatMap((entry) => {
    const path = join(folder, entry.name);
    if (entry.name.startsWith('.') || entry.name === 'node_modules') return [];
    if (entry.isDirectory()) return entry.name === sitesFolder ? [] : scenariosIn(path);
    return /\.ya?ml$/.test(entry.name) && !isSite(path) ? [path] : [];
  });
}

/**
 * Whether a file describes a site: at its top an id at `site`, buses or pieces, and no scenario. By its lines alone: a file that
 * cannot be read, or is no YAML, is for the reader to complain of.
 */
function isSite(path: string): boolean {
  let text: string;
  try {
    if (statSync(path).size > SITE_MAX_bytes) return false;
    text = readFileSync(path, 'utf8');
  } catch {
    return false;
  }
  const keys = new Set([...text.matchAll(/^\uFEFF?(\w+)[ \t]*:(?=\s)/gm)].map(([, key]) => key));
  const isId = /^\uFEFF?site[ \t]*:[ \t]+["']?[a-z][a-z0-9-]*["']?[ \t]*(#.*)?$/m.test(text.replaceAll('\r', ''));
  return isId && (keys.has('buses') || keys.has('pieces')) && !keys.has('scenario');
}

/** Relative to where the user stands, or, for the built-in suite, to the package: the same name on every machine. */
function labelOf(path: string, cwd: string, packageRoot: string): string {
  const isBuiltIn = inside(path, join(packageRoot, builtIn)) && !inside(path, cwd);
  return relative(isBuiltIn ? packageRoot : cwd, path)
    .split(sep)
    .join('/');
}

const inside = (path: string, folder: string): boolean =>
  path === folder || path.startsWith(folder.endsWith(sep) ? folder : folder + sep);

function missing(arg: string, cwd: string): string {
  const folder = dirname(resolve(cwd, arg));
  const known = existsSync(folder) && statSync(folder).isDirectory() ? readdirSync(folder) : [];
  const near = nearest(basename(arg), known);
  const hint =
    near === undefined
      ? 'expected a scenario file or a folder of them'
      : `did you mean ${join(dirname(arg), near).split(sep).join('/')}?`;
  return `${arg}: no such file or folder; ${hint}`;
}
