import { progressLine } from '../report/console.ts';
import type { Io } from './io.ts';

export interface Progress {
  started(name: string): void;
  ended(name: string): void;
  close(): void;
}

const quietLine_ms = 30_000;
const clearLine = '\r\u001b[2K';

/** Shows how far it has come, on the error stream only: one line written over on a terminal, else a line each 30 s. */
export function showProgress(of: number, io: Io): Progress {
  const running = new Set<string>();
  let done = 0;
  const line = (): string => progressLine(done, of, [...running], io.columns);
  const draw = (): void => {
    if (io.errIsTerminal) io.err(clearLine + line());
  };
  const timer = io.errIsTerminal ? undefined : setInterval(() => io.err(`${line()}\n`), quietLine_ms);
  return {
    started(name) {
      running.add(name);
      draw();
    },
    ended(name) {
      running.delete(name);
      done += 1;
      draw();
    },
    close() {
      clearInterval(timer);
      if (io.errIsTerminal) io.err(clearLine);
    },
  };
}

export const noProgress: Progress = { started() {}, ended() {}, close() {} };
