/** One line of `npm run bench`. */
export interface Figure {
  readonly name: string;
  readonly value: number;
  readonly unit: string;
  readonly target?: string;
}
