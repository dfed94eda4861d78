import type { Channel, Telemetry } from '../../sim/telemetry.ts';
import { US_PER_S } from '../../sim/units.ts';

/**
 * A trace as CSV, written while the run goes on: what it keeps is one row, however long the run.
 *
 * The head names each channel with its unit (`t [s],panel.u1 [V],…`). A row stands for each frame that changed anything, and one for the
 * end, so that the last stretch has a length; a frame holds until the next. Several rows may stand at one instant. Instants are seconds with all six decimals; values are the
 * shortest text that reads back to the same number; states are written by name.
 *
 * @param write - takes the text, whole lines at a time
 * @returns what to call with each piece of telemetry, in order
 */
export function csvTrace(write: (text: string) => void): (telemetry: Telemetry) => void {
  let channels: readonly Channel[] = [];
  let cells: string[] | undefined; // Of the last frame: only what has changed is turned into text again.
  let lastRow_us = -1;
  const row = (at_us: number, of: readonly string[]): void => {
    write(`${instant(at_us)},${of.join(',')}\n`);
    lastRow_us = at_us;
  };
  return (telemetry) => {
    if (telemetry.kind === 'head') {
      channels = telemetry.channels;
      write(`t [s],${channels.map(({ name, unit }) => field(`${name} [${unit}]`)).join(',')}\n`);
    } else if (telemetry.kind === 'frame') {
      const { at_us, values, changed } = telemetry;
      if (cells === undefined) cells = channels.map((channel, index) => cell(channel, values[index] ?? 0));
      else if (changed.length === 0) return;
      else for (const index of changed) cells[index] = cell(channels[index]!, values[index]!);
      row(at_us, cells);
    } else if (telemetry.kind === 'end' && cells !== undefined && telemetry.at_us > lastRow_us) {
      row(telemetry.at_us, cells);
    }
  };
}

function cell({ unit, states }: Channel, value: number): string {
  if (unit === 'state') return field(states?.[value] ?? String(value));
  return String(value); // String(-0) is "0", as in the digest.
}

/** Whole microseconds as seconds, exactly: no division that rounds. */
function instant(at_us: number): string {
  const rest_us = at_us % US_PER_S;
  return `${(at_us - rest_us) / US_PER_S}.${String(rest_us).padStart(6, '0')}`;
}

/** RFC 4180: quoted where a comma, a quote or a line end stands in it. */
const field = (text: string): string => (/[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text);
