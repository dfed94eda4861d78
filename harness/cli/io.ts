/** What the command line has of the process: handed in, so that a test can stand in for a terminal. */
export interface Io {
  /** Results only. */
  out(text: string): void;
  /** Everything else. */
  err(text: string): void;
  readonly env: Readonly<Record<string, string | undefined>>;
  readonly cwd: string;
  readonly outIsTerminal: boolean;
  readonly errIsTerminal: boolean;
  readonly columns: number;
  /** Calls back at the first interrupt; the second ends the process at once. Returns what takes it back. */
  onInterrupt(stop: () => void): () => void;
}

/** A log keeps long lines, and a table that wraps in it helps nobody. */
const columnsWhereNobodyLooks = 120;
const columnsLeast = 20;

export function processIo(): Io {
  const { stdout, stderr, env } = process;
  for (const stream of [stdout, stderr]) {
    stream.on('error', (cause: NodeJS.ErrnoException) => {
      // Whoever read us has gone. The files are still written and the exit code still tells.
      if (cause.code !== 'EPIPE') throw cause;
    });
  }
  const send = (stream: NodeJS.WriteStream) => (text: string) => {
    if (stream.writable) stream.write(text);
  };
  return {
    out: send(stdout),
    err: send(stderr),
    env,
    cwd: process.cwd(),
    outIsTerminal: stdout.isTTY === true,
    errIsTerminal: stderr.isTTY === true,
    columns: columnsOf(env['COLUMNS'], stdout.isTTY === true ? stdout.columns : undefined),
    onInterrupt(stop) {
      let asked = false;
      const listen = (): void => {
        if (asked) process.exit(130);
        asked = true;
        stop();
      };
      process.on('SIGINT', listen);
      return () => process.off('SIGINT', listen);
    },
  };
}

/** The terminal's width, else COLUMNS, else 120. */
export function columnsOf(fromEnv: string | undefined, fromTerminal: number | undefined): number {
  const width = fromTerminal ?? Number(fromEnv);
  return Number.isInteger(width) && width >= columnsLeast ? width : columnsWhereNobodyLooks;
}
