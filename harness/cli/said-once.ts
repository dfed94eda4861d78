/**
 * What is wrong with each file as it is printed, each complaint once: the faults of a site come back with each scenario that
 * uses it, and the second time only their number is told.
 */
export class SaidOnce {
  readonly #said = new Set<string>();

  /** @returns lines, ending in a newline */
  of(file: string, problems: readonly string[]): string {
    const fresh = problems.filter((problem) => !this.#said.has(problem));
    for (const problem of fresh) this.#said.add(problem);
    const again = problems.length - fresh.length;
    const left = again === 0 ? [] : [`${file}: ${again} of the problems said above`];
    return `${[...fresh, ...left].join('\n').trimEnd()}\n`;
  }
}
