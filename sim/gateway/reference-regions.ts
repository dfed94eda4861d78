import type { PlainState } from './reference-plain.ts';

/** What the utility does. An outage counts after a time that depends on how bad it is and on what the house owes the utility. */
export const supply: PlainState = {
  initial: 'unknown',
  states: {
    unknown: {
      always: [
        { if: ['troubled'], to: 'low' },
        { if: ['sound'], to: 'sound' },
      ],
    },
    sound: {
      initial: 'usual',
      always: [
        { if: ['troubled', 'exported'], to: 'low', do: ['rememberExport'] },
        { if: ['troubled', 'exportEbbs'], to: 'low', do: ['rememberExport'] },
        { if: ['troubled'], to: 'low', do: ['forgetExport'] },
      ],
      states: {
        usual: { always: [{ if: ['unusual'], to: 'odd' }] },
        odd: { always: [{ if: ['!unusual'], to: 'usual' }], after: { unusualAfter: [{ to: 'announced' }] } },
        announced: { always: [{ if: ['!unusual'], to: 'usual' }] },
      },
    },
    low: {
      about: 'Any trouble for long enough is an outage; inside it, the worse trouble sooner.',
      initial: 'sorting',
      always: [{ if: ['sound'], to: 'sound' }],
      after: { outageAny: [{ to: 'lost' }] },
      states: {
        sorting: {
          always: [
            { if: ['odd'], to: 'odd' },
            { if: ['deep'], to: 'deep' },
            { if: ['mid'], to: 'mid' },
            { to: 'shallow' },
          ],
        },
        // A lost leg, an open neutral or a far too high voltage: nothing has to be ridden through.
        odd: { always: [{ if: ['!odd'], to: 'sorting' }], after: { outageDeep: [{ to: '#reference.supply.lost' }] } },
        deep: {
          always: [
            { if: ['odd'], to: 'odd' },
            { if: ['!deep'], to: 'sorting' },
          ],
          after: { outageLow: [{ to: '#reference.supply.lost' }] },
        },
        mid: {
          always: [
            { if: ['odd'], to: 'odd' },
            { if: ['!mid'], to: 'sorting' },
          ],
          after: { outageMid: [{ to: '#reference.supply.lost' }] },
        },
        shallow: {
          always: [
            { if: ['odd'], to: 'odd' },
            { if: ['deep'], to: 'deep' },
            { if: ['mid'], to: 'mid' },
          ],
        },
      },
    },
    lost: { entry: ['rememberDiagnosis'], always: [{ if: ['sound'], to: 'sound' }] },
  },
};

/** Whether the house gives power to the utility; a moment of it, or without it, does not count. */
export const flow: PlainState = {
  initial: 'importing',
  states: {
    importing: { always: [{ if: ['exporting'], to: 'rising' }] },
    rising: {
      always: [{ if: ['!exporting'], to: 'importing' }],
      after: { exportMemory: [{ to: 'exporting' }] },
    },
    exporting: { always: [{ if: ['!exporting'], to: 'ebbing' }] },
    ebbing: {
      always: [{ if: ['exporting'], to: 'exporting' }],
      after: { exportMemory: [{ to: 'importing' }] },
    },
  },
};

/** For how long the utility has been good enough to go back to. Any break begins the count anew. */
export const back: PlainState = {
  initial: 'broken',
  states: {
    broken: { always: [{ if: ['good', 'mainClosed', 'neutralTrusted'], to: 'counting' }] },
    counting: {
      always: [
        { if: ['!good'], to: 'broken' },
        { if: ['!mainClosed'], to: 'broken' },
      ],
      after: { returnGood: [{ to: 'qualified' }] },
    },
    qualified: {
      always: [
        { if: ['!good'], to: 'broken' },
        { if: ['!mainClosed'], to: 'broken' },
      ],
    },
  },
};

/**
 * An open neutral hides once the house has left: without load both legs look good. So it is remembered, until a person asks
 * for the return. One who asked before it opened knew nothing of it.
 */
export const service: PlainState = {
  initial: 'trusted',
  states: {
    trusted: { always: [{ if: ['utilityLost', 'neutralMoved'], to: 'suspect' }] },
    suspect: {
      initial: 'asked',
      always: [{ if: ['triesNeutral', 'good'], to: 'trusted' }],
      states: {
        asked: { always: [{ if: ['!asksToReturn'], to: 'unasked' }] },
        unasked: { always: [{ if: ['asksToReturn'], to: '#reference.service.trusted' }] },
      },
    },
  },
};

/** What is read across a pole is believed for a meeting only if it was nothing while the pole was closed: sense leads may be exchanged. */
export const poles: PlainState = {
  initial: 'suspect',
  states: {
    suspect: { always: [{ if: ['closedProved', 'sound', '!polesApart'], to: 'trusted' }] },
    trusted: { always: [{ if: ['closedProved', 'sound', 'polesApart'], to: 'suspect' }] },
  },
};

/** Tries to close stand apart, whatever the house does in between. */
export const pause: PlainState = {
  initial: 'over',
  states: {
    over: {
      always: [
        { if: ['partingNeutral'], to: 'running' },
        { if: ['meeting'], to: 'running' },
      ],
    },
    running: { after: { closeAgain: [{ to: 'over' }] } },
  },
};

/** A request made on the spot. It lapses, and must then be made anew. */
export const request: PlainState = {
  initial: 'none',
  states: {
    none: { always: [{ if: ['asksToFormOnSite'], to: 'asked' }] },
    asked: { always: [{ if: ['!asksToFormOnSite'], to: 'none' }], after: { requestLapse: [{ to: 'lapsed' }] } },
    lapsed: { always: [{ if: ['!asksToFormOnSite'], to: 'none' }] },
  },
};

/** What an island looks like from its bus, whatever the source says of itself. */
export const house: PlainState = {
  initial: 'fair',
  states: {
    fair: {
      always: [
        { if: ['houseLow'], to: 'low' },
        { if: ['legsWide'], to: 'wide' },
        { if: ['legsApart'], to: 'apart' },
      ],
    },
    low: { always: [{ if: ['!houseLow'], to: 'fair' }], after: { islandLow: [{ to: 'lost' }] } },
    apart: {
      always: [
        { if: ['legsWide'], to: 'wide' },
        { if: ['!legsApart'], to: 'fair' },
      ],
      after: { neutralApart: [{ to: 'unheld' }] },
    },
    wide: { always: [{ if: ['!legsWide'], to: 'fair' }], after: { neutralWide: [{ to: 'unheld' }] } },
    lost: { always: [{ if: ['!houseLow'], to: 'fair' }] },
    unheld: { always: [{ if: ['!legsApart'], to: 'fair' }] },
  },
};

/** The charge, with a latch: what has run down to the reserve is no source until it has recovered. */
export const charge: PlainState = {
  initial: 'enough',
  states: {
    enough: {
      always: [
        { if: ['chargeSpent'], to: 'spent' },
        { if: ['chargeLow'], to: 'low' },
      ],
    },
    low: {
      always: [
        { if: ['chargeSpent'], to: 'spent' },
        { if: ['!chargeLow'], to: 'enough' },
      ],
    },
    spent: { always: [{ if: ['chargeRecovered'], to: 'low' }] },
  },
};

/** Whether the battery takes PV in an island. Full, the permit goes, and comes back only well below. */
export const room: PlainState = {
  initial: 'some',
  states: {
    some: { always: [{ if: ['islanded', 'chargeFull', 'withdraws'], to: 'none' }] },
    none: {
      always: [
        { if: ['chargeRoomy'], to: 'some' },
        { if: ['onUtility'], to: 'some' },
      ],
    },
  },
};

/** Loads of the island that are shed, in the order of their contacts; all of them while the charge is low. */
export const shedding: PlainState = {
  initial: 'resting',
  states: {
    resting: { always: [{ if: ['islanded'], to: 'calm' }] },
    calm: {
      always: [
        { if: ['!islanded'], to: 'resting' },
        { if: ['sheddingAll', 'canShed'], do: ['shedAll'] },
        { if: ['housePressed', 'canShed'], to: 'pressed' },
        { if: ['overCurrent', 'canShed'], to: 'over' },
        { if: ['spareCurrent', 'hasShed', '!sheddingAll'], to: 'spare' },
      ],
    },
    pressed: {
      always: [
        { if: ['!islanded'], to: 'resting' },
        { if: ['!housePressed'], to: 'calm' },
      ],
      after: { shedPressed: [{ to: 'calm', do: ['shedOne'] }] },
    },
    over: {
      always: [
        { if: ['!islanded'], to: 'resting' },
        { if: ['housePressed'], to: 'pressed' },
        { if: ['!overCurrent'], to: 'calm' },
      ],
      after: { shedAfter: [{ to: 'calm', do: ['shedOne'] }] },
    },
    spare: {
      always: [
        { if: ['!islanded'], to: 'resting' },
        { if: ['!spareCurrent'], to: 'calm' },
        { if: ['sheddingAll'], to: 'calm' },
      ],
      after: { unshedAfter: [{ to: 'calm', do: ['unshedOne'] }] },
    },
  },
};

/** A sleeping vehicle is woken while the house is still on a utility in trouble. */
export const waking: PlainState = {
  initial: 'quiet',
  states: {
    quiet: { always: [{ if: ['onUtility', 'troubled', 'hasSource', '!sourceAwake'], to: 'calling' }] },
    calling: {
      always: [
        { if: ['!onUtility'], to: 'quiet' },
        { if: ['!troubled'], to: 'quiet' },
        { if: ['sourceAwake'], to: 'quiet' },
        { if: ['!hasSource'], to: 'quiet' },
      ],
    },
  },
};

/** Charge on the utility: never more than the service bears beside the house. Down at once, up after a while. */
export const charging: PlainState = {
  initial: 'off',
  states: {
    off: {
      entry: ['noCharge'],
      always: [{ if: ['onUtility', 'utilitySound', 'chargeWanted', 'roomToStart'], to: 'on', do: ['takeRoom'] }],
    },
    on: {
      initial: 'steady',
      always: [
        { if: ['!onUtility'], to: 'off' },
        { if: ['!chargeWanted'], to: 'off' },
        { if: ['roomGone'], to: 'resting' },
        { if: ['mustLower'], do: ['takeRoom'] },
      ],
      states: {
        steady: { always: [{ if: ['mayRaise'], to: 'rising' }] },
        rising: {
          always: [{ if: ['!mayRaise'], to: 'steady' }],
          after: { chargeRaise: [{ to: 'steady', do: ['takeRoom'] }] },
        },
      },
    },
    resting: { entry: ['noCharge'], after: { chargeRaise: [{ to: 'off' }] } },
  },
};
