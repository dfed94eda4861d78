import { sha256 } from '@noble/hashes/sha2.js';
import { DeadbusBug } from '../../sim/check.ts';
import type { Telemetry } from '../../sim/telemetry.ts';

/** SHA-256 that is fed in pieces. The page has none of its own that answers at once; a driver may hand in a faster one. */
export interface Sha256 {
  update(bytes: Uint8Array): unknown;
  digest(): Uint8Array;
}

/**
 * SHA-256 over a run: head, then instant, channel and value of whatever changed in each frame, and the happenings, in order.
 *
 * float64 little-endian, -0 as 0, NaN an assertion; a frame in which nothing changed adds nothing, and neither do waves.
 */
export class RunDigest {
  readonly #hash: Sha256;
  readonly #buffer = new Uint8Array(16 * 1024);
  readonly #view = new DataView(this.#buffer.buffer);
  #used = 0;
  #result: string | undefined;

  constructor(hash: Sha256 = sha256.create()) {
    this.#hash = hash;
  }

  take(telemetry: Telemetry): void {
    if (telemetry.kind === 'head') {
      for (const { name, unit } of telemetry.channels) this.#text(`${name} [${unit}]\n`);
    } else if (telemetry.kind === 'frame') {
      if (telemetry.changed.length === 0) return;
      this.#number(telemetry.at_us);
      for (const index of telemetry.changed) {
        this.#number(index);
        this.#number(telemetry.values[index]!);
      }
    } else if (telemetry.kind === 'happening') {
      const { at_us, number, piece, did, origin, cause } = telemetry;
      this.#text(`!${at_us} ${number} ${piece} ${did} ${origin} ${cause ?? '-'}\n`);
    } else if (telemetry.kind === 'end') {
      this.#text(`end ${telemetry.at_us} ${telemetry.complete ? 'complete' : 'cut short'}\n`);
    }
  }

  /** Hex, once the run has ended. */
  hex(): string {
    if (this.#result === undefined) {
      this.#flush();
      this.#result = hexOf(this.#hash.digest());
    }
    return this.#result;
  }

  #number(value: number): void {
    if (Number.isNaN(value)) throw new DeadbusBug('a frame carries a value that is no number');
    if (this.#used + 8 > this.#buffer.length) this.#flush();
    this.#view.setFloat64(this.#used, value === 0 ? 0 : value, true);
    this.#used += 8;
  }

  #text(text: string): void {
    for (const byte of utf8(text)) {
      if (this.#used === this.#buffer.length) this.#flush();
      this.#buffer[this.#used] = byte;
      this.#used += 1;
    }
  }

  #flush(): void {
    this.#hash.update(this.#buffer.subarray(0, this.#used));
    this.#used = 0;
  }
}

/** Hex SHA-256 of a text in UTF-8. */
export function digestOfText(text: string): string {
  return hexOf(sha256(Uint8Array.from(utf8(text))));
}

/** Hex SHA-256 of plain data, keys in plain order, so that the order in a file does not matter. */
export function digestOfPlain(data: unknown): string {
  return digestOfText(canonical(data));
}

function canonical(data: unknown): string {
  if (Array.isArray(data)) return `[${data.map(canonical).join(',')}]`;
  if (typeof data === 'object' && data !== null) {
    const entries = Object.entries(data).filter(([, value]) => value !== undefined);
    entries.sort(([a], [b]) => (a < b ? -1 : a > b ? 1 : 0));
    return `{${entries.map(([key, value]) => `${JSON.stringify(key)}:${canonical(value)}`).join(',')}}`;
  }
  return JSON.stringify(data) ?? 'null';
}

function hexOf(bytes: Uint8Array): string {
  let text = '';
  for (const byte of bytes) text += (byte < 16 ? '0' : '') + byte.toString(16);
  return text;
}

/** UTF-8 by hand: the run must also go where there is no TextEncoder. */
function utf8(text: string): number[] {
  const bytes: number[] = [];
  for (const character of text) {
    const code = character.codePointAt(0)!;
    if (code < 0x80) bytes.push(code);
    else if (code < 0x800) bytes.push(0xc0 | (code >> 6), 0x80 | (code & 0x3f));
    else if (code < 0x10000) bytes.push(0xe0 | (code >> 12), 0x80 | ((code >> 6) & 0x3f), 0x80 | (code & 0x3f));
    else
      bytes.push(0xf0 | (code >> 18), 0x80 | ((code >> 12) & 0x3f), 0x80 | ((code >> 6) & 0x3f), 0x80 | (code & 0x3f));
  }
  return bytes;
}
