import fc from 'fast-check';
import { debounceTime, interval, Subject, take, timer } from 'rxjs';
import { describe, expect, it } from 'vitest';
import { createActor, createMachine } from 'xstate';
import { DeadbusBug } from '../../../sim/check.ts';
import { createKernel, type RunnableKernel } from '../../../sim/time/kernel.ts';
import { RANKS, type Rank } from '../../../sim/time/time.ts';
import type { SimUs } from '../../../sim/units.ts';

const us = (instant: number): SimUs => instant as SimUs;
const kernel = (): RunnableKernel => createKernel({ seed: 1 });
const runAll = (queue: RunnableKernel): void => {
  for (let count = 0; count < 100_000 && queue.runNext(); count += 1);
};

// Few instants, so that most timers meet others.
const timerArbitrary = fc.record({ due_us: fc.integer({ min: 0, max: 20 }), rank: fc.constantFrom(...RANKS) });
const timersArbitrary = fc.array(timerArbitrary, { maxLength: 60 });
const runs = { numRuns: 200 };

/** What the contract says of the order, by a stable sort instead of a heap. */
function inOrder<T extends { due_us: number; rank: Rank }>(timers: readonly T[]): T[] {
  return [...timers].sort((a, b) => a.due_us - b.due_us || RANKS.indexOf(a.rank) - RANKS.indexOf(b.rank));
}

describe('createKernel: order', () => {
  it('fires by instant, then by rank, then in order of setting', () => {
    fc.assert(
      fc.property(timersArbitrary, (timers) => {
        const queue = kernel();
        const marked = timers.map((given, mark) => ({ ...given, mark }));
        const fired: number[] = [];
        for (const { due_us, rank, mark } of marked) {
          queue.at(us(due_us), rank, 'owner', 'tick', () => {
            expect(queue.now_us).toBe(due_us);
            fired.push(mark);
          });
        }
        runAll(queue);
        expect(fired).toEqual(inOrder(marked).map(({ mark }) => mark));
      }),
      runs,
    );
  });

  it('says beforehand what comes next, at which instant and of which rank', () => {
    fc.assert(
      fc.property(timersArbitrary, (timers) => {
        const queue = kernel();
        for (const { due_us, rank } of timers) queue.at(us(due_us), rank, 'owner', 'tick', () => {});
        for (const { due_us, rank } of inOrder(timers)) {
          expect([queue.nextDue_us(), queue.peekRank()]).toEqual([due_us, rank]);
          expect(queue.runNext()).toBe(true);
          expect(queue.now_us).toBe(due_us);
        }
        expect([queue.nextDue_us(), queue.peekRank(), queue.runNext()]).toEqual([undefined, undefined, false]);
      }),
      runs,
    );
  });

  it('takes a timer set inside a timer, at the same instant or later, as if it had been set before', () => {
    fc.assert(
      fc.property(timersArbitrary, timersArbitrary, (outer, inner) => {
        const queue = kernel();
        const fired: { due_us: number; rank: Rank }[] = [];
        queue.at(us(0), 'plant', 'owner', 'first', () => {
          for (const given of inner) queue.at(us(given.due_us), given.rank, 'owner', 'inner', () => fired.push(given));
        });
        for (const given of outer) queue.at(us(given.due_us), given.rank, 'owner', 'outer', () => fired.push(given));
        runAll(queue);
        expect(fired).toEqual(inOrder([...outer, ...inner]));
      }),
      runs,
    );
  });
});

describe('createKernel: shuffleTies', () => {
  const firedWith = (seed: number, ties: readonly Rank[], shuffleTies = true): number[] => {
    const queue = createKernel({ seed, shuffleTies });
    const fired: number[] = [];
    ties.forEach((rank, mark) => {
      queue.at(us(5), rank, 'owner', 'tick', () => fired.push(mark));
    });
    runAll(queue);
    return fired;
  };

  it('moves ties inside one rank only, and the same way for the same seed', () => {
    const tiesArbitrary = fc.array(fc.constantFrom(...RANKS), { maxLength: 40 });
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 0xffffffff }), tiesArbitrary, (seed, ties) => {
        const fired = firedWith(seed, ties);
        const ranks = fired.map((mark) => RANKS.indexOf(ties[mark]!));
        expect(ranks).toEqual([...ranks].sort((a, b) => a - b));
        expect([...fired].sort((a, b) => a - b)).toEqual(ties.map((_, mark) => mark));
        expect(firedWith(seed, ties)).toEqual(fired);
      }),
      runs,
    );
  });

  it('reaches each of the six orders of three ties within 100 seeds, and only one without it', () => {
    const three: Rank[] = ['scan', 'scan', 'scan'];
    const orders = (shuffleTies: boolean): number =>
      new Set(Array.from({ length: 100 }, (_, seed) => firedWith(seed, three, shuffleTies).join())).size;
    expect([orders(true), orders(false)]).toEqual([6, 1]);
  });
});

describe('createKernel: cancel', () => {
  it('fires all but those taken back, whether before the run or from inside a timer', () => {
    const withFate = fc.record({
      due_us: fc.integer({ min: 1, max: 20 }),
      rank: fc.constantFrom(...RANKS),
      fate: fc.constantFrom('kept', 'kept', 'cancelled before', 'cancelled inside'),
    });
    fc.assert(
      fc.property(fc.array(withFate, { maxLength: 80 }), (timers) => {
        const queue = kernel();
        const fired: object[] = [];
        const handles = timers.map((given) =>
          queue.at(us(given.due_us), given.rank, 'owner', 'tick', () => fired.push(given)),
        );
        const cancelAll = (fate: string): void =>
          timers.forEach((given, index) => {
            if (given.fate === fate) queue.cancel(handles[index]!);
          });
        cancelAll('cancelled before');
        queue.at(us(0), 'plant', 'owner', 'canceller', () => cancelAll('cancelled inside'));
        runAll(queue);
        expect(fired).toEqual(inOrder(timers.filter(({ fate }) => fate === 'kept')));
      }),
      runs,
    );
  });

  it('ignores handles that are unknown, fired or taken back already', () => {
    const queue = kernel();
    const handle = queue.at(us(1), 'plant', 'owner', 'tick', () => {});
    queue.runNext();
    for (const given of [handle, handle, 99, Number.NaN]) queue.cancel(given);
    expect(queue.runNext()).toBe(false);
  });

  it('lists the pending timers of one owner in order of firing, with the time left, without those taken back', () => {
    const queue = kernel();
    queue.at(us(9), 'plant', 'relay', 'late', () => {});
    queue.cancel(queue.at(us(3), 'plant', 'relay', 'taken back', () => {}));
    queue.at(us(5), 'scan', 'relay', 'second of 5 µs', () => {});
    queue.at(us(5), 'plant', 'relay', 'first of 5 µs', () => {});
    queue.at(us(4), 'plant', 'breaker', 'of another', () => {});
    queue.runUntil(us(2));
    expect(queue.pending('relay')).toEqual([
      { name: 'first of 5 µs', in_us: 3 },
      { name: 'second of 5 µs', in_us: 3 },
      { name: 'late', in_us: 7 },
    ]);
  });
});

describe('createKernel: what is refused', () => {
  it('an instant before now, or one that is no whole number', () => {
    for (const due_us of [9, -1, 10.5, NaN]) {
      const queue = kernel();
      queue.runUntil(us(10));
      expect(() => queue.at(us(due_us), 'plant', 'relay', 'travel', () => {})).toThrow(DeadbusBug);
    }
  });

  it('running the queue from inside a timer, and says so again at each later run', () => {
    const queue = kernel();
    queue.at(us(1), 'plant', 'owner', 'nested', () => queue.runNext());
    queue.at(us(2), 'plant', 'owner', 'later', () => {});
    expect(() => queue.runNext()).toThrow(/from inside one of its own timers/);
    expect(() => queue.runNext()).toThrow(DeadbusBug);
  });

  it('two states that re-arm each other at one instant, by owner, timer and instant', () => {
    const queue = createKernel({ seed: 1, firingsAtOneInstantMax: 50 });
    let count = 0;
    const again = (): void => {
      count += 1;
      queue.at(queue.now_us, 'plant', 'relay', 'chatter', again);
    };
    queue.at(us(8500), 'plant', 'relay', 'chatter', again);
    expect(() => runAll(queue)).toThrow(
      /relay "chatter": more than 50 firings at 8.5 ms; two states re-arm each other\?/,
    );
    expect(count).toBe(50);
  });

  it('but not as many firings spread over two instants', () => {
    const queue = createKernel({ seed: 1, firingsAtOneInstantMax: 50 });
    for (let count = 0; count < 100; count += 1) queue.at(us(count % 2), 'plant', 'owner', 'tick', () => {});
    runAll(queue);
    expect(queue.now_us).toBe(1);
  });

  it('a seed that is no uint32', () => {
    for (const seed of [-1, 0.5, 2 ** 32, NaN]) expect(() => createKernel({ seed })).toThrow(RangeError);
  });
});

describe('createKernel: runUntil', () => {
  it('fires what is due at the end instant, nothing later, and stands there', () => {
    const queue = kernel();
    const fired: number[] = [];
    for (const due_us of [1, 7, 8]) queue.at(us(due_us), 'plant', 'owner', 'tick', () => fired.push(due_us));
    queue.runUntil(us(7));
    expect([fired, queue.now_us, queue.nextDue_us()]).toEqual([[1, 7], 7, 8]);
    expect(() => queue.runUntil(us(6))).toThrow(DeadbusBug);
  });

  it('lets through what a timer throws, and goes on after it', () => {
    const queue = kernel();
    queue.at(us(1), 'plant', 'owner', 'throws', () => {
      throw new TypeError('of the timer');
    });
    queue.at(us(2), 'plant', 'owner', 'next', () => {});
    expect(() => queue.runNext()).toThrow(TypeError);
    expect(queue.runNext()).toBe(true);
  });
});

describe('createKernel: clockFor', () => {
  it('fires a chain of three 300 ms statechart timers at 300, 600 and 900 ms', () => {
    const queue = kernel();
    const reached: (readonly [string, number])[] = [];
    const chain = createMachine({
      initial: 'first',
      states: {
        first: { after: { 300: 'second' } },
        second: { after: { 300: 'third' } },
        third: { after: { 300: 'end' } },
        end: {},
      },
    });
    const actor = createActor(chain, { clock: queue.clockFor('chain', 'plant') });
    actor.subscribe(({ value }) => reached.push([String(value), queue.now_us]));
    actor.start();
    expect(queue.pending('chain')).toEqual([{ name: 'after', in_us: 300_000 }]);
    queue.runUntil(us(1_000_000));
    expect(reached).toEqual([
      ['first', 0],
      ['second', 300_000],
      ['third', 600_000],
      ['end', 900_000],
    ]);
  });

  it('takes back the timer of a state that is left', () => {
    const queue = kernel();
    const machine = createMachine({
      initial: 'waiting',
      states: { waiting: { after: { 100: 'late' }, on: { go: 'gone' } }, late: {}, gone: {} },
    });
    const actor = createActor(machine, { clock: queue.clockFor('chart', 'plant') }).start();
    actor.send({ type: 'go' });
    expect([queue.pending('chart'), queue.runNext(), actor.getSnapshot().value]).toEqual([[], false, 'gone']);
  });

  it('rounds 8.4996 ms to 8,500 µs once, half a microsecond upwards', () => {
    const queue = kernel();
    const clock = queue.clockFor('relay', 'plant');
    for (const delay_ms of [8.4996, 8.4994, 0.0005, 0.0004]) clock.setTimeout(() => {}, delay_ms);
    expect(queue.pending('relay').map(({ in_us }) => in_us)).toEqual([0, 1, 8499, 8500]);
  });

  it('keeps a delay of 0 until the queue runs', () => {
    const queue = kernel();
    let fired = false;
    queue.clockFor('chart', 'plant').setTimeout(() => {
      fired = true;
    }, 0);
    expect(fired).toBe(false);
    queue.runNext();
    expect([fired, queue.now_us]).toEqual([true, 0]);
  });

  it('refuses a negative, endless or missing delay, naming the owner', () => {
    for (const delay_ms of [-1, -1e-9, NaN, Infinity]) {
      const clock = kernel().clockFor('relay', 'plant');
      expect(() => clock.setTimeout(() => {}, delay_ms)).toThrow(DeadbusBug);
      expect(() => clock.setTimeout(() => {}, delay_ms)).toThrow(/relay: a delay of/);
    }
  });

  it('throws the refusal once more at the next run, since a statechart catches what its clock throws', () => {
    const queue = kernel();
    const machine = createMachine({ initial: 'waiting', states: { waiting: { after: { '-5': 'late' } }, late: {} } });
    const actor = createActor(machine, { clock: queue.clockFor('relay', 'plant') });
    let caught: unknown;
    actor.subscribe({
      error: (cause) => {
        caught = cause;
      },
    });
    actor.start();
    expect(caught).toBeInstanceOf(DeadbusBug);
    expect(() => queue.runNext()).toThrow(/relay: a delay of -5 ms/);
  });
});

describe('createKernel: scheduler', () => {
  it('interval(10) fires at 10, 20 and 30 ms and leaves the queue empty when it ends', () => {
    const queue = kernel();
    const fired: number[] = [];
    interval(10, queue.scheduler)
      .pipe(take(3))
      .subscribe(() => fired.push(queue.now_us));
    runAll(queue);
    expect(fired).toEqual([10_000, 20_000, 30_000]);
    expect(queue.pending('streams')).toEqual([]);
  });

  it('ends with the subscription', () => {
    const queue = kernel();
    let count = 0;
    const subscription = interval(1, queue.scheduler).subscribe(() => {
      count += 1;
    });
    queue.runUntil(us(2500));
    subscription.unsubscribe();
    queue.runUntil(us(9000));
    expect([count, queue.nextDue_us()]).toEqual([2, undefined]);
  });

  it('comes after everything else of its instant, even if set first', () => {
    const queue = kernel();
    const fired: string[] = [];
    timer(5, queue.scheduler).subscribe(() => fired.push('stream'));
    for (const rank of ['operator', 'plant'] as const)
      queue.at(us(5000), rank, 'owner', 'tick', () => fired.push(rank));
    runAll(queue);
    expect(fired).toEqual(['plant', 'operator', 'stream']);
  });

  it('debounceTime(10) gives a value 10,000 µs after the last of its burst, at any whole microsecond', () => {
    const gaps = fc.array(fc.integer({ min: 1, max: 30_000 }), { minLength: 1, maxLength: 20 });
    fc.assert(
      fc.property(gaps, (gaps_us) => {
        const queue = createKernel({ seed: 1, firingsAtOneInstantMax: 20 });
        const input$ = new Subject<number>();
        const found: number[] = [];
        input$.pipe(debounceTime(10, queue.scheduler)).subscribe(() => found.push(queue.now_us));
        const inputs_us: number[] = [];
        for (const gap_us of gaps_us) inputs_us.push((inputs_us.at(-1) ?? 0) + gap_us);
        for (const at_us of inputs_us) queue.at(us(at_us), 'sensing', 'source', 'value', () => input$.next(at_us));
        runAll(queue);
        // The record rank comes last: a value that arrives 10,000 µs later to the microsecond still extends the burst.
        const lastOfBurst = inputs_us.filter((at_us, index) => !((inputs_us[index + 1] ?? Infinity) <= at_us + 10_000));
        expect(found).toEqual(lastOfBurst.map((at_us) => at_us + 10_000));
      }),
      { numRuns: 500 },
    );
  });

  it('counts now in milliseconds, never sets an endless delay and refuses a negative one', () => {
    const queue = kernel();
    queue.runUntil(us(12_345));
    expect(queue.scheduler.now()).toBe(12.345);
    queue.scheduler.schedule(() => {}, Infinity);
    expect(queue.nextDue_us()).toBe(undefined);
    expect(() => queue.scheduler.schedule(() => {}, -1)).toThrow(DeadbusBug);
  });

  it('lets the work set itself again with a new state and delay', () => {
    const queue = kernel();
    const fired: (readonly [number, number])[] = [];
    queue.scheduler.schedule<number>(
      function again(state = 0) {
        fired.push([state, queue.now_us]);
        if (state < 3) this.schedule(state + 1, state + 1);
      },
      1,
      0,
    );
    runAll(queue);
    expect(fired).toEqual([
      [0, 1000],
      [1, 2000],
      [2, 4000],
      [3, 7000],
    ]);
  });
});

describe('a timer beyond 2^53 µs', () => {
  it('never fires and may be cancelled', () => {
    const kernel = createKernel({ seed: 1 });
    const handle = kernel.at(1e300 as SimUs, 'plant', 'far', 'away', () => {
      throw new Error('it fired');
    });
    kernel.cancel(handle);
    expect(kernel.runNext()).toBe(false);
  });
});
