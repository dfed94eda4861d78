import { describe, expect, it } from 'vitest';
import { atLeast, atMost, Book, timeFinding } from '../../../harness/rules/book.ts';
import { Deadline, isLate, Since } from '../../../harness/rules/intervals.ts';
import { RecentPeak } from '../../../harness/rules/recent-peak.ts';

const finding = (found_us: number, phasor: number | undefined, against: 'utility' | 'person' = 'utility') =>
  timeFinding({
    at_us: found_us,
    found_us,
    limit_us: 1000,
    key: 'own.separation',
    against,
    about: 'a time',
    ...(phasor !== undefined && { resolution: { phasor, wave: 0.01, edges_us: [found_us] } }),
  });

describe('isLate and Deadline', () => {
  it('keep a limit met exactly and break it one µs later', () => {
    expect([isLate(2000, 2000), isLate(2001, 2000)]).toEqual([false, true]);
    const deadline = new Deadline(2000);
    deadline.open(500, 'person');
    deadline.open(900, 'utility'); // Open already: neither the instant nor the answerable one moves.
    expect([deadline.isBrokenAt(2500), deadline.isBrokenAt(2501)]).toEqual([false, true]);
    expect(deadline.against).toBe('person');
    expect([deadline.close(2500), deadline.close(2600)]).toEqual([2000, undefined]);
  });
});

describe('Since', () => {
  it('takes what stands at the first frame to have stood for an hour, and anything later from its instant', () => {
    const since = new Since();
    since.update(10, true);
    expect(since.heldAt(10)).toBe(3_600_000_000);
    since.update(20, false);
    since.update(30, true);
    since.update(40, true);
    expect(since.heldAt(45)).toBe(15);
  });
});

describe('RecentPeak', () => {
  it('looks back over its window, open at both ends', () => {
    const peak = new RecentPeak(100);
    peak.take(0, 5);
    peak.take(50, 1);
    expect([peak.before(149), peak.before(150), peak.before(150, 1)]).toEqual([5, 1, 5]);
    peak.take(150, 9);
    expect([peak.before(150), peak.before(151)]).toEqual([1, 9]);
  });
});

describe('atMost and atLeast', () => {
  it('divide by the scale and clamp to -10 … +1', () => {
    expect([atMost(1.5, 2, 2), atMost(2, 2, 2), atMost(99, 2, 2), atMost(-99, 2, 2)]).toEqual([0.25, 0, -10, 1]);
    expect([atLeast(75, 50, 50), atLeast(50, 50, 50), atLeast(0, 50, 50)]).toEqual([0.5, 0, -1]);
  });
});

describe('Book', () => {
  const verdict = (fill: (book: Book) => void, complete = true) => {
    const book = new Book();
    book.arm();
    fill(book);
    return book.verdict('a-rule', 'weak', complete);
  };

  it('keeps the worst margin and counts violations by whom they are held against', () => {
    const { outcome, violations, grade } = verdict((book) => {
      book.add(finding(1200, undefined));
      book.add(finding(1500, undefined, 'person'));
      book.add(finding(300, undefined));
    });
    expect(outcome).toMatchObject({ is: 'fail', against: 'person', worst: { value: -0.5 } });
    expect(violations).toEqual({ controller: 0, person: 1, equipment: 0, utility: 1, site: 0 });
    expect(grade).toBe('site setting');
  });

  it('calls unresolved a margin smaller than the resolution, either side of 0, and no margin equal to it', () => {
    const why = { is: 'not exercised', why: 'unresolved' };
    expect(verdict((book) => book.add(finding(950, 0.1))).outcome).toEqual(why);
    expect(verdict((book) => book.add(finding(1050, 0.1))).outcome).toEqual(why);
    expect(verdict((book) => book.add(finding(1125, 0.125))).outcome.is).toBe('fail');
    expect(verdict((book) => book.add(finding(875, 0.125))).outcome.is).toBe('pass');
  });

  it('lets a sure violation stand beside a doubtful one, but no sure pass', () => {
    const both = (found_us: number) =>
      verdict((book) => {
        book.add(finding(1050, 0.1));
        book.add(finding(found_us, undefined));
      }).outcome;
    expect(both(1200).is).toBe('fail');
    expect(both(300)).toEqual({ is: 'not exercised', why: 'unresolved' });
  });

  it('resolves finer where a window of waveforms covers the instant', () => {
    const fine = (to_us: number) =>
      verdict((book) => {
        book.add(finding(1050, 0.1));
        book.wave(0, to_us);
      }).outcome.is;
    expect([fine(1049), fine(1050)]).toEqual(['not exercised', 'fail']);
  });

  it('gives no pass while something is owed or the run was cut short', () => {
    const cut = { is: 'not exercised', why: 'cut short' };
    expect(verdict((book) => book.owe()).outcome).toEqual(cut);
    expect(verdict((book) => book.add(finding(300, undefined)), false).outcome).toEqual(cut);
    expect(new Book().verdict('a-rule', 'weak', true)).toMatchObject({
      grade: 'weak',
      outcome: { why: 'never armed' },
    });
  });
});
