import type { Id, ParamSpec, Plain } from '../../../sim/site-description.ts';
import type { Channel } from '../../../sim/telemetry.ts';
import type { SimUs } from '../../../sim/units.ts';
import type { Condition, When } from '../model.ts';
import { didYouMean, oneOf } from './nearest.ts';
import { readParam } from './params.ts';
import { quoted } from './problem.ts';
import { type Fields, type Node, type Sheet, under } from './sheet.ts';
import { writeQuantity } from './units.ts';

/** What the words of a scenario may refer to. Undefined: the site is not sound, so that no name is held against it. */
export interface Known {
  readonly channels: readonly Channel[] | undefined;
  readonly happenings: readonly Id[];
  /** Undefined: the file gives none that could be read. */
  readonly end_us: number | undefined;
}

const spec = (name: string, unit: ParamSpec['unit'], more: Partial<ParamSpec> = {}): ParamSpec => ({
  name,
  unit,
  about: '',
  source: '',
  ...more,
});
const DURATION = spec('', 'µs', { min: 0 });

/** A duration of 0 µs or more. */
export function readDuration(sheet: Sheet, node: Node, path: string): number | undefined {
  const value = readParam(sheet, node, path, DURATION);
  return typeof value === 'number' ? value : undefined;
}

/** An instant of the run: not before its start, not after its end. */
export function readInstant(sheet: Sheet, node: Node, path: string, end_us: number | undefined): SimUs | undefined {
  const value = readParam(sheet, node, path, spec('', 'µs'));
  if (typeof value !== 'number') return undefined;
  const found = node.is === 'scalar' ? quoted(node.text) : '';
  if (value < 0) {
    const mend = `Write "${writeQuantity(-value, 'µs')}", or shift everything else`;
    sheet.report(node.place, path, {
      code: 'SCN-TIME',
      found: `${found}, a time before the start`,
      expected: '0 s or later',
      mend,
    });
    return undefined;
  }
  if (end_us !== undefined && value > end_us) {
    const expected = `a time not after the end, ${writeQuantity(end_us, 'µs')}`;
    sheet.report(node.place, path, { code: 'SCN-TIME', found, expected, mend: 'Move "end" or this' });
    return undefined;
  }
  return value as SimUs;
}

/** `at: 2 s`, or `after: <happening or condition>` with `delay:`. `path` is that of the mapping with these keys. */
export function readWhen(sheet: Sheet, fields: Fields, node: Node, path: string, known: Known): When | undefined {
  const at = fields.get('at');
  const after = fields.get('after');
  const delay = fields.get('delay');
  if ((at === undefined) === (after === undefined)) {
    const found = at === undefined ? 'neither "at" nor "after"' : 'both "at" and "after"';
    const place = at === undefined ? { from: node.place.from, to: node.place.from + 1 } : at.keyPlace;
    sheet.report(place, path, {
      code: at === undefined ? 'SCN-MISSING' : 'SCN-VALUE',
      found,
      expected: 'one of them',
      mend: '',
    });
    return undefined;
  }
  const delay_us = delay === undefined ? 0 : readDuration(sheet, delay.value, under(path, 'delay'));
  if (at !== undefined) {
    if (delay !== undefined) {
      sheet.report(delay.keyPlace, path, {
        code: 'SCN-KEY',
        found: '"delay" beside "at"',
        expected: '"delay" beside "after" only',
        mend: 'Add it to the time after "at"',
      });
    }
    const at_us = readInstant(sheet, at.value, under(path, 'at'), known.end_us);
    return at_us === undefined ? undefined : { at_us };
  }
  const target = after === undefined ? undefined : readAfter(sheet, after.value, under(path, 'after'), known);
  return target === undefined || delay_us === undefined ? undefined : { after: target, delay_us };
}

function readAfter(sheet: Sheet, node: Node, path: string, known: Known): Id | Condition | undefined {
  if (node.is === 'map') return readCondition(sheet, node, path, known);
  const id = sheet.single(node, path, 'the id of a happening, or a condition');
  if (id === undefined || known.happenings.includes(id)) return id;
  const expected = known.happenings.length === 0 ? 'a happening of this file' : oneOf(known.happenings);
  sheet.report(node.place, path, {
    code: 'SCN-REF',
    found: `unknown happening ${quoted(id)}`,
    expected,
    mend: didYouMean(id, known.happenings),
  });
  return undefined;
}

/** When a statement begins: a time, the id of a happening, or a mapping as a happening has. */
export function readFrom(sheet: Sheet, node: Node, path: string, known: Known): When | undefined {
  if (node.is === 'map') {
    const fields = sheet.fields(node, path, ['at', 'after', 'delay']);
    return fields === undefined ? undefined : readWhen(sheet, fields, node, path, known);
  }
  if (node.is === 'scalar' && /^[a-z]/.test(node.text)) {
    const after = readAfter(sheet, node, path, known);
    return after === undefined ? undefined : { after, delay_us: 0 };
  }
  const at_us = readInstant(sheet, node, path, known.end_us);
  return at_us === undefined ? undefined : { at_us };
}

/** `{ channel: house.u12, is: '<', value: 60 V, held: 20 ms }` */
export function readCondition(sheet: Sheet, node: Node, path: string, known: Known): Condition | undefined {
  const fields = sheet.fields(node, path, ['channel', 'is', 'value', 'held'], ['channel', 'is', 'value']);
  const [name, is, value, held] = ['channel', 'is', 'value', 'held'].map((key) => fields?.get(key)?.value);
  const held_us = held === undefined ? 0 : readDuration(sheet, held, under(path, 'held'));
  const sign = is === undefined ? undefined : sheet.word(is, under(path, 'is'), ['<', '>', '=']);
  const channel = name === undefined ? undefined : readChannel(sheet, name, under(path, 'channel'), known.channels);
  if (value === undefined || channel === undefined) return undefined;
  const found = readChannelValue(sheet, value, under(path, 'value'), channel);
  if (typeof found === 'string' && sign !== undefined && sign !== '=') {
    sheet.report(is?.place ?? node.place, under(path, 'is'), {
      code: 'SCN-VALUE',
      found: `${quoted(sign)} between states`,
      expected: '"="',
      mend: "Write is: '='",
    });
    return undefined;
  }
  if (found === undefined || held_us === undefined || (sign !== '<' && sign !== '>' && sign !== '=')) return undefined;
  return { channel: channel.name, is: sign, value: found, held_us };
}

function readChannel(
  sheet: Sheet,
  node: Node,
  path: string,
  channels: readonly Channel[] | undefined,
): Channel | undefined {
  const text = sheet.single(node, path, 'the name of a channel, such as house.u12');
  if (text === undefined || channels === undefined) return undefined;
  const found = channels.find(({ name }) => name === text);
  if (found?.turns === true) {
    sheet.report(node.place, path, {
      code: 'SCN-REF',
      found: `${text}, which turns between frames while two live sides slip`,
      expected: 'a channel that holds between frames',
      mend: 'At the isolation relay take gateway.in.poleAngleL1, poleAngleL2, poleVoltsL1 or poleVoltsL2',
    });
    return undefined;
  }
  if (found !== undefined) return found;
  const ownerOf = (name: string) => name.split('.')[0] ?? '';
  const owners = [...new Set(channels.map(({ name }) => ownerOf(name)))];
  const owner = ownerOf(text);
  const same = channels.filter(({ name }) => ownerOf(name) === owner).map(({ name }) => name);
  const fault = owners.includes(owner)
    ? { found: `unknown channel ${quoted(text)}`, expected: `one of ${shortened(same)}`, mend: didYouMean(text, same) }
    : {
        found: `a channel of ${quoted(owner)}`,
        expected: `one of ${shortened(owners)}`,
        mend: didYouMean(owner, owners),
      };
  sheet.report(node.place, path, { code: 'SCN-REF', ...fault });
  return undefined;
}

const shortened = (words: readonly string[]) =>
  words.length > 24 ? `${words.slice(0, 24).join(', ')} and others` : oneOf(words);

/** The gateway's channels carry thousandths: `200 V` is 200,000 of them, `90 deg` 90,000. */
export const THOUSANDTHS: Readonly<Partial<Record<Channel['unit'], ParamSpec['unit']>>> = {
  mV: 'V',
  mA: 'A',
  mHz: 'Hz',
  mdeg: 'deg',
};

/** A value as a channel carries it: SI for physical ones, the name of a state, 0 or 1 for a bit, whole numbers for the gateway's. */
function readChannelValue(sheet: Sheet, node: Node, path: string, { unit, states }: Channel): Plain | undefined {
  if (unit === 'state') return sheet.word(node, path, states ?? []);
  if (unit === 'bit') {
    const word = sheet.word(node, path, ['0', '1', 'no', 'yes']);
    return word === undefined ? undefined : Number(word === '1' || word === 'yes');
  }
  const physical = ['V', 'A', 'Hz', 'deg', 'W', 'var', 'µs', '1'] as const;
  const known = physical.find((each) => each === unit);
  if (known !== undefined) return readParam(sheet, node, path, spec('', known));
  const whole = THOUSANDTHS[unit];
  if (whole !== undefined) {
    const quantity = readParam(sheet, node, path, spec('', whole));
    return typeof quantity === 'number' ? Math.round(quantity * 1000) : quantity;
  }
  const value = readParam(sheet, node, path, spec('', '1'));
  if (typeof value !== 'number' || Number.isInteger(value)) return value;
  sheet.report(node.place, path, {
    code: 'SCN-VALUE',
    found: String(value),
    expected: `a whole number, in ${unit}`,
    mend: '',
  });
  return undefined;
}
