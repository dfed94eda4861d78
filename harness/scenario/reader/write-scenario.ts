import { channelsOf } from '../../../sim/site.ts';
import type { Bag, Id, KindSpec, ParamSpec, Piece, Plain } from '../../../sim/site-description.ts';
import type { Channel, Unit } from '../../../sim/telemetry.ts';
import type { Condition, Scenario, Statement, When } from '../model.ts';
import { targetsOf } from '../variants.ts';
import { GATEWAY, type Tables } from './params.ts';
import type { ScenarioTables } from './read-scenario.ts';
import { THOUSANDTHS } from './read-when.ts';
import { writeQuantity } from './units.ts';

/**
 * A scenario as a file, its site inside it: what the reader makes of the text is the same scenario again.
 *
 * Values that the file did not give are left out, so that they keep their source.
 */
export function writeScenario(scenario: Scenario, tables: Tables & Pick<ScenarioTables, 'channelsOf'>): string {
  const writer = new Writer(scenario, tables, (tables.channelsOf ?? channelsOf)(scenario.site));
  return `${writer.lines().join('\n')}\n`;
}

/** A text that YAML reads back as it is: plain where nothing in it has a meaning, else in double quotes. */
function textOf(text: string): string {
  const plain = /^[A-Za-z][A-Za-z0-9 ._/-]*$/.test(text) && !text.endsWith(' ');
  return plain ? text : JSON.stringify(text);
}

const flow = (pairs: readonly (readonly [string, string] | undefined)[]): string =>
  `{ ${pairs.flatMap((pair) => (pair === undefined ? [] : [`${pair[0]}: ${pair[1]}`])).join(', ')} }`;
const flowList = (items: readonly string[]): string => `[${items.join(', ')}]`;

const PHYSICAL: readonly Unit[] = ['V', 'A', 'Hz', 'deg', 'W', 'var', 'µs', '1'];

class Writer {
  readonly #scenario: Scenario;
  readonly #tables: Tables;
  readonly #channels: ReadonlyMap<string, Channel>;
  readonly #kinds: ReadonlyMap<string, KindSpec>;

  constructor(scenario: Scenario, tables: Tables, channels: readonly Channel[]) {
    this.#scenario = scenario;
    this.#tables = tables;
    this.#channels = new Map(channels.map((each) => [each.name, each]));
    this.#kinds = new Map(tables.kinds.map((each) => [each.kind, each]));
  }

  lines(): readonly string[] {
    const { id, title, tags, seed, end_us, waveforms, start, vary, happenings } = this.#scenario;
    return [
      `scenario: ${id}`,
      `title: ${JSON.stringify(title)}`,
      `tags: ${flowList(tags)}`,
      ...this.#site(),
      `seed: ${seed}`,
      ...block('start', this.#starting(start)),
      `end: ${writeQuantity(end_us, 'µs')}`,
      ...block(
        'happenings',
        happenings.map((each) => `- ${this.#happening(each)}`),
        '[]',
      ),
      `waveforms: ${waveforms}`,
      ...(vary === undefined ? [] : block('vary', this.#varied(vary))),
      ...this.#expect(),
    ];
  }

  #site(): readonly string[] {
    const { id, buses, pieces, settings } = this.#scenario.site;
    const inner = [
      `site: ${id}`,
      `buses: ${flow(buses.map((bus) => [bus.id, bus.side]))}`,
      ...block(
        'pieces',
        pieces.map((piece) => `${piece.id}: ${this.#piece(piece)}`),
      ),
      `settings: ${flow(this.#given(settings, {}, this.#tables.settings))}`,
    ];
    return block('site', inner);
  }

  #specs({ kind }: Piece): readonly ParamSpec[] {
    return this.#kinds.get(kind)?.params ?? [];
  }

  #piece(piece: Piece): string {
    const at = piece.at.length === 1 ? piece.at[0]! : flowList(piece.at);
    const head = [
      ['kind', piece.kind],
      ['at', at],
      ['legs', flowList(piece.legs)],
    ] as const;
    return flow([...head, ...this.#given(piece.params, piece.sources, this.#specs(piece))]);
  }

  #given(
    values: Bag,
    sources: Readonly<Record<string, string>>,
    specs: readonly ParamSpec[],
  ): (readonly [string, string])[] {
    return specs.flatMap((spec) => {
      const value = values[spec.name];
      return value === undefined || Object.hasOwn(sources, spec.name)
        ? []
        : [[spec.name, valueText(value, spec)] as const];
    });
  }

  #specNamed(name: string): ParamSpec | undefined {
    const [owner = '', own] = name.split('.');
    return this.#kindOf(owner)?.start.find((each) => each.name === own);
  }

  #kindOf(piece: Id): KindSpec | undefined {
    if (piece === GATEWAY) return this.#tables.gateway;
    return this.#kinds.get(this.#scenario.site.pieces.find(({ id }) => id === piece)?.kind ?? '');
  }

  #starting(start: Bag): readonly string[] {
    return Object.entries(start).map(([name, value]) => `${name}: ${valueText(value, this.#specNamed(name))}`);
  }

  #varied(vary: Readonly<Record<string, readonly Plain[]>>): readonly string[] {
    const targets = targetsOf(this.#scenario, this.#tables);
    return Object.entries(vary).map(
      ([name, values]) => `${name}: ${flowList(values.map((value) => valueText(value, targets.get(name)?.spec)))}`,
    );
  }

  #happening({ id, when, piece, does, using }: Scenario['happenings'][number]): string {
    const specs = this.#kindOf(piece)?.does.find(({ name }) => name === does)?.using ?? [];
    const given = this.#given(using, {}, specs);
    return flow([
      ['id', id],
      ...this.#when(when),
      ['do', textOf(`${piece} ${does}`)],
      given.length === 0 ? undefined : ['using', flow(given)],
    ]);
  }

  #when(when: When): (readonly [string, string])[] {
    if ('at_us' in when) return [['at', writeQuantity(when.at_us, 'µs')]];
    const after = typeof when.after === 'string' ? when.after : this.#condition(when.after);
    return [
      ['after', after],
      ['delay', writeQuantity(when.delay_us, 'µs')],
    ];
  }

  #condition({ channel, is, value, held_us }: Condition): string {
    const channelUnit = this.#channels.get(channel)?.unit;
    const physical = PHYSICAL.find((each) => each === channelUnit);
    const whole = channelUnit === undefined ? undefined : THOUSANDTHS[channelUnit];
    const text =
      typeof value !== 'number'
        ? valueText(value, undefined)
        : whole !== undefined
          ? writeQuantity(value / 1000, whole)
          : physical === undefined
            ? valueText(value, undefined)
            : writeQuantity(value, physical as ParamSpec['unit']);
    const held = held_us === 0 ? undefined : (['held', writeQuantity(held_us, 'µs')] as const);
    return flow([['channel', channel], ['is', `'${is}'`], ['value', text], held]);
  }

  #expect(): readonly string[] {
    const { pass, fail, statements } = this.#scenario.expect;
    const failing = fail.map(
      ({ rule, because }) =>
        `- ${flow([
          ['rule', rule],
          ['because', JSON.stringify(because)],
        ])}`,
    );
    const said = statements.map((each) => `- ${this.#statement(each)}`);
    return block('expect', [
      `pass: ${flowList(pass)}`,
      ...block('fail', failing, '[]'),
      ...block('statements', said, '[]'),
    ]);
  }

  #statement({ says, what, from, limit_us }: Statement): string {
    const condition = this.#condition(what);
    const timed = limit_us !== undefined;
    const start =
      from === undefined ? undefined : ([says === 'within' ? 'of' : 'from', flow(this.#when(from))] as const);
    return flow([
      [says, timed ? writeQuantity(limit_us, 'µs') : condition],
      start,
      timed ? ['what', condition] : undefined,
    ]);
  }
}

function valueText(value: Plain, spec: ParamSpec | undefined): string {
  if (typeof value === 'string') return textOf(value);
  return writeQuantity(value, spec?.unit ?? '1');
}

function block(key: string, lines: readonly string[], empty = '{}'): readonly string[] {
  return lines.length === 0 ? [`${key}: ${empty}`] : [`${key}:`, ...lines.map((line) => `  ${line}`)];
}
