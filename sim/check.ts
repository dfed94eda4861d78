/** What is thrown when deadbus itself is wrong: never the user's file, never the controller. The command line answers with exit code 3. */
export class DeadbusBug extends Error {
  override readonly name = 'DeadbusBug';
}

/** An assertion about our own code: what must hold, in words, with the numbers found. Throws DeadbusBug. */
export function assert(holds: boolean, what: string): asserts holds {
  if (!holds) throw new DeadbusBug(`${what} [this is a defect of deadbus, not of your file]`);
}

/** A condition on an argument of a public function, put positively so that NaN fails it. Throws RangeError. */
export function mustBe(holds: boolean, where: string, what: string, found: unknown, expected: string): asserts holds {
  if (!holds) throw new RangeError(`${where}: ${what} is ${String(found)}; expected ${expected}.`);
}
