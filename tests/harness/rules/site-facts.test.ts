import { describe, expect, it } from 'vitest';
import { siteFacts } from '../../../harness/rules/index.ts';
import { house, piece, siteOf } from './house.ts';

const sections = (site: ReturnType<typeof house>): Record<string, string> =>
  Object.fromEntries(siteFacts(site).sectionOf);

describe('siteFacts', () => {
  it('walks from the street: service S, behind the main M, behind the relay H', () => {
    expect(sections(house())).toEqual({ service: 'S', panel: 'M', house: 'H', garage: 'H' });
  });

  it('leaves M empty where the relay comes first, and the main below it in H', () => {
    const site = siteOf('relay-first', [
      piece('grid', 'utility', ['pole']),
      piece('drop', 'conductor', ['pole', 'meter']),
      piece('iso', 'relay', ['meter', 'panel']),
      piece('main', 'breaker', ['panel', 'house'], { role: 'main' }),
    ]);
    expect(sections(site)).toEqual({ pole: 'S', meter: 'S', panel: 'H', house: 'H' });
  });

  it('keeps PV tapped ahead of the main in S, with its own branch breaker too', () => {
    const site = siteOf('tapped', [
      piece('grid', 'utility', ['service']),
      piece('pv-breaker', 'breaker', ['service', 'pv-bus'], { role: 'branch' }),
      piece('roof', 'pv', ['pv-bus'], { rated: 5000 }),
      piece('main', 'breaker', ['service', 'panel'], { role: 'main' }),
      piece('sub', 'breaker', ['panel', 'shed'], { role: 'branch' }),
      piece('iso', 'relay', ['panel', 'house']),
    ]);
    expect(sections(site)).toEqual({ service: 'S', 'pv-bus': 'S', panel: 'M', shed: 'M', house: 'H' });
  });

  it('takes a branch breaker that leads to a relay for the first device', () => {
    const site = siteOf('feeder', [
      piece('grid', 'utility', ['service']),
      piece('feeder', 'breaker', ['service', 'panel'], { role: 'branch' }),
      piece('iso', 'relay', ['panel', 'house']),
    ]);
    expect(sections(site)).toEqual({ service: 'S', panel: 'M', house: 'H' });
  });

  it('names each device’s bus towards the street first, whichever way the file has it', () => {
    const site = siteOf('turned', [
      piece('grid', 'utility', ['service']),
      piece('main', 'breaker', ['panel', 'service'], { role: 'main' }),
      piece('iso', 'relay', ['house', 'panel']),
    ]);
    expect(siteFacts(site).devices.map(({ at }) => at)).toEqual([
      ['service', 'panel'],
      ['panel', 'house'],
    ]);
  });

  it('lists sources with their rating in W and buses with loads', () => {
    const { following, forming, relays, legLoadAt, loadAt } = siteFacts(house());
    expect(following.map(({ id, at, rated_W }) => [id, at, rated_W])).toEqual([
      ['roof', 'house', 5000],
      ['car', 'garage', 10_000],
    ]);
    expect(forming.map(({ id }) => id)).toEqual(['car']);
    expect(relays.map(({ id }) => id)).toEqual(['iso']);
    expect([[...legLoadAt], [...loadAt]]).toEqual([['house'], ['house']]);
  });

  it('refuses a site without exactly one utility', () => {
    expect(() => siteFacts(siteOf('none', [piece('main', 'breaker', ['a', 'b'])]))).toThrow(RangeError);
  });
});
