/** One wrong constant or line in the physics: where it is, what stands there, what the mutant puts there. */
export interface Mutant {
  readonly name: string;
  readonly about: string;
  readonly file: string;
  readonly from: string;
  readonly to: string;
}

/** The table is read by the tests' configuration as well, so it is plain data. */
export const MUTANTS: readonly Mutant[] = [];

/** Applies a mutant to a file's text. Throws when what it changes does not stand there exactly once. */
export function mutated(mutant: Mutant, text: string): string {
  const count = text.split(mutant.from).length - 1;
  if (count !== 1)
    throw new Error(`mutant ${mutant.name}: its line stands ${count} times in ${mutant.file}; expected once`);
  return text.replace(mutant.from, () => mutant.to);
}
