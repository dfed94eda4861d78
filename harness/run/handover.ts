import { INPUT_NAMES, type InputName, type Inputs, OUTPUT_NAMES, type Reading } from '../../sim/gateway/boundary.ts';

// Nothing that a controller holds in its hands is ours: it gets copies, and copies are taken of what it gives.

/** The inputs of a scan for the controller to keep, sort or overwrite as it likes. */
export function copyOfInputs(inputs: Inputs): Inputs {
  const { now_us, scan } = inputs;
  const copy: { -readonly [name in InputName]?: Reading } & Pick<Inputs, 'now_us' | 'scan'> = { now_us, scan };
  for (const name of INPUT_NAMES) {
    const { value, at_us, state } = inputs[name];
    copy[name] = { value, at_us, state };
  }
  return copy as Inputs;
}

/**
 * An answer as plain data, each part read once: one that is written over in the next scan, or that runs code when it is
 * looked at, is judged by what is then used. What is no answer stays as it is, to be found out.
 *
 * @throws whatever reading it throws: that is the controller's doing
 */
export function copyOfAnswer(answer: unknown): unknown {
  if (typeof answer !== 'object' || answer === null) return answer;
  const { outputs, wake, then } = answer as { outputs?: unknown; wake?: unknown; then?: unknown };
  if (typeof then === 'function') return answer; // A promise, and no answer.
  if (typeof outputs !== 'object' || outputs === null) return { outputs, wake };
  const copy: Record<string, unknown> = {};
  for (const name of OUTPUT_NAMES) copy[name] = (outputs as Record<string, unknown>)[name];
  return { outputs: copy, wake };
}
