import type { PlainState, PlainStep } from './reference-plain.ts';

const LOCKED = '#reference.transfer.locked';
const NEXT_DEAD_BUS = '#reference.transfer.awaitingDeadBus';

/** A house in the dark goes back as soon as it may. */
const HOME = ['returnQualified', 'mainClosed', 'canCloseAgain', 'closeRested'] as const;
const goesHome: PlainStep = { if: HOME, to: '#reference.transfer.stopping' };
/** An open relay that no longer proves open: the source goes at once, and then it is looked at. */
const unproved: PlainStep = { if: ['!isolated'], to: '#reference.transfer.doubting' };
/** Somebody may be working on the line: nothing is formed unless a person on the spot asks. */
const standsDown: PlainStep = { if: ['standsDown', '!asked'], to: '#reference.transfer.openedByHand' };
const noSource: PlainStep = {
  if: ['!hasSource'],
  to: '#reference.transfer.dark',
  do: [{ because: 'noSource' }],
};
const sourceFails: readonly PlainStep[] = [
  {
    if: ['hardFault'],
    to: '#reference.transfer.dark',
    do: ['countShort', 'shedAll', { because: 'shortCircuit' }],
  },
  { if: ['sourceFault'], to: '#reference.transfer.dark', do: ['shedAll', { because: 'sourceFault' }] },
];
const neutralLost: PlainStep = {
  if: ['!neutralIn'],
  to: '#reference.transfer.dark',
  do: [{ because: 'neutralLost' }],
};
/** The contact is in, and the middle of the legs is not held. */
const unheld: PlainStep = {
  if: ['islandUnheld'],
  to: '#reference.transfer.dark',
  do: [{ because: 'neutralLost' }],
};

/** The position is unknown until it is read; nothing is ordered that would change it. */
const booting: PlainState = {
  always: [
    { if: ['lockedBefore', 'anyClosed'], to: 'lockedClosed' },
    { if: ['lockedBefore'], to: 'locked' },
    { if: ['closedProved'], to: 'onUtility' },
    { if: ['islandRuns'], to: 'islanded' },
    { if: ['openProved'], to: 'dark' },
  ],
  after: { proveTime: [{ to: 'locked', do: [{ because: 'positionUnknown' }] }] },
};

const onUtility: PlainState = {
  entry: ['forgetAll', 'trustContacts', 'dropNeutral'],
  initial: 'proved',
  always: [
    { if: ['standsDown', 'mainOpen'], to: 'standingDown', do: ['rememberHand'] },
    { if: ['handOutage'], to: 'leaving', do: ['rememberHand'] },
    // A house is better dark than at 172 V on a leg, whether or not a source is there.
    { if: ['utilityLost', 'harmful', '!mainBelowOpen'], to: 'leaving' },
    { if: ['utilityLost', 'leavesForIt', '!reserveReached', '!mainBelowOpen'], to: 'leaving' },
  ],
  states: {
    proved: { always: [{ if: ['!closedProved'], to: 'unproved' }] },
    unproved: {
      always: [{ if: ['closedProved'], to: 'proved' }],
      after: {
        proveTime: [
          { if: ['openProved', '!supplied'], to: '#reference.transfer.dark', do: [{ because: 'noSupply' }] },
          { if: ['openProved'], to: LOCKED, do: [{ because: 'movedByItself' }] },
          { if: ['!proofsFresh'], to: 'blind' },
          { to: '#reference.transfer.lockedClosed', do: [{ because: 'movedByItself' }] },
        ],
      },
    },
    // A contact that is not heard is no reason to take the utility away: the house stays, and says so. Leaving needs the proof.
    blind: { always: [{ if: ['proofsFresh'], to: 'unproved' }] },
  },
};

/** Away from the utility: charge stops, permit off, PV ceased, relay open, bus dead, neutral, proof, source. */
const away: Record<string, PlainState> = {
  leaving: {
    always: [
      { if: ['utilitySound', 'mainClosed'], to: 'onUtility' },
      { if: ['quiet'], to: 'isolating' },
    ],
    after: { ceaseWait: [{ to: 'isolating' }] },
  },
  isolating: {
    always: [{ if: ['openProved'], to: 'awaitingDeadBus' }],
    after: {
      proveTime: [
        { if: ['mayOverrule'], to: 'awaitingDeadBus', do: ['overrule'] },
        { to: 'locked', do: [{ because: 'doesNotOpen' }] },
      ],
    },
  },
  awaitingDeadBus: {
    always: [
      unproved,
      standsDown,
      noSource,
      { if: ['reserveReached', 'reserveStops'], to: 'dark', do: [{ because: 'reserve' }] },
      { if: ['houseDead'], to: 'deadBus' },
    ],
    after: { rest: [{ to: 'locked', do: [{ because: 'houseLive' }] }] },
  },
  deadBus: {
    always: [unproved, standsDown, noSource, { if: ['!houseDead'], to: 'awaitingDeadBus' }],
    after: { separation: [{ to: 'formingNeutral' }] },
  },
  formingNeutral: {
    entry: ['keepNeutral'],
    always: [unproved, standsDown, noSource, { if: ['neutralIn'], to: 'proving' }],
    after: { neutralTravel: [{ to: 'dark', do: ['countFormTry', { because: 'neutralLost' }] }] },
  },
  // Pole by pole, with a voltage that may reach the service. A sleeping source is woken by the order.
  proving: {
    initial: 'starting',
    always: [unproved, standsDown, neutralLost, ...sourceFails, noSource],
    states: {
      starting: {
        always: [{ if: ['sourceJoined'], to: 'testing' }],
        after: { sourceComes: [{ to: '#reference.transfer.dark', do: ['countFormTry', { because: 'noSource' }] }] },
      },
      testing: {
        initial: 'unproved',
        always: [{ if: ['!sourceJoined'], to: 'starting' }],
        // After a short circuit a house leg that does not come up is that short, still there: no more tries, no lockout.
        after: {
          testTime: [
            { if: ['hasShorted'], to: '#reference.transfer.dark', do: ['countShort', { because: 'shortCircuit' }] },
            { to: LOCKED, do: [{ because: 'notProven' }] },
          ],
        },
        states: {
          unproved: { always: [{ if: ['polesProved'], to: 'proved' }] },
          proved: {
            always: [{ if: ['!polesProved'], to: 'unproved' }],
            after: { testHold: [{ to: '#reference.transfer.forming' }] },
          },
        },
      },
    },
  },
  forming: {
    entry: ['countFormTry'],
    always: [
      unproved,
      standsDown,
      neutralLost,
      ...sourceFails,
      noSource,
      unheld,
      { if: ['houseGood'], to: 'islanded' },
    ],
    after: { formTime: [{ to: 'dark', do: [{ because: 'sourceWeak' }] }] },
  },
};

const islanded: PlainState = {
  entry: ['keepNeutral'],
  initial: 'settling',
  always: [
    unproved,
    neutralLost,
    ...sourceFails,
    { if: ['!sourceAwake'], to: 'dark', do: [{ because: 'noSource' }] },
    unheld,
    { if: ['islandLost'], to: 'dark', do: [{ because: 'sourceLost' }] },
    { if: ['reserveReached', 'reserveStops'], to: 'endingIsland', do: [{ because: 'reserve' }] },
    { if: ['asksToReset', 'hasFailedToClose'], do: ['forgetTries', { because: 'none' }] },
  ],
  states: {
    settling: {
      always: [{ if: ['!houseGood'], to: 'poor' }],
      after: { islandSettle: [{ to: 'stable' }] },
    },
    poor: { always: [{ if: ['houseGood'], to: 'settling' }] },
    stable: {
      always: [{ if: ['!hasNotTried', '!hasFailedToClose'], do: [{ because: 'none' }] }],
      after: { rest: [{ to: 'rested' }] },
    },
    // Only from here back.
    rested: { always: [{ if: HOME, to: '#reference.transfer.returning' }] },
  },
};

/** An island that ends by order owes PV the same as a house that leaves: permit off and ceased before its reference goes. */
const endingIsland: PlainState = {
  always: [unproved, neutralLost, ...sourceFails, { if: ['pvCeased'], to: 'dark' }],
  after: { ceaseWait: [{ to: 'dark' }] },
};

/** Back to the utility, in the same order: permit off, PV ceased, source off and bus dead (or in step), neutral out, relay. */
const homeward: Record<string, PlainState> = {
  returning: {
    always: [
      unproved,
      neutralLost,
      ...sourceFails,
      { if: ['!returnQualified'], to: 'islanded' },
      { if: ['pvCeased', 'closedTransition', 'polesTrusted'], to: 'synchronising' },
      { if: ['pvCeased'], to: 'stopping' },
    ],
    after: { ceaseWait: [{ if: ['closedTransition', 'polesTrusted'], to: 'synchronising' }, { to: 'stopping' }] },
  },
  // The island runs a little fast, so that the angle comes round by itself.
  synchronising: {
    always: [
      unproved,
      neutralLost,
      ...sourceFails,
      { if: ['!returnQualified'], to: 'islanded' },
      { if: ['inStep'], to: 'meeting' },
    ],
    after: { syncTime: [{ to: 'stopping' }] },
  },
  meeting: {
    entry: ['countCloseTry'],
    always: [{ if: ['anyClosed'], to: 'met' }],
    after: {
      proveTime: [
        { if: ['openProved'], to: 'islanded', do: [{ because: 'doesNotClose' }] },
        { to: 'locked', do: [{ because: 'positionUnknown' }] },
      ],
    },
  },
  met: {
    always: [{ if: ['closedProved'], to: 'onUtility' }],
    after: { proveTime: [{ to: 'locked', do: [{ because: 'positionUnknown' }] }] },
  },
  stopping: {
    always: [
      unproved,
      { if: ['!returnQualified'], to: 'awaitingDeadBus' },
      // PV that runs on holds a heavy load below a quarter of the voltage, and is not in step.
      { if: ['houseRunDown', 'pvCeased', '!sourceJoined'], to: 'resting' },
      { if: ['houseDead', '!sourceJoined'], to: 'resting' },
    ],
    after: { rest: [{ to: 'locked', do: [{ because: 'houseLive' }] }] },
  },
  // Dead for as long as a bus that is to be formed must be.
  resting: {
    always: [
      unproved,
      { if: ['!returnQualified'], to: 'awaitingDeadBus' },
      { if: ['!houseRunDown'], to: 'stopping' },
      { if: ['!houseDead', '!pvCeased'], to: 'stopping' },
    ],
    after: { separation: [{ to: 'partingNeutral' }] },
  },
  partingNeutral: {
    entry: ['dropNeutral'],
    always: [
      unproved,
      { if: ['!returnQualified'], to: 'awaitingDeadBus' },
      { if: ['!houseRunDown'], to: 'stopping' },
      { if: ['!houseDead', '!pvCeased'], to: 'stopping' },
      { if: ['neutralOut'], to: 'closing' },
    ],
    // What an island needs is in: with a source the house lives on, and tries again later.
    after: {
      neutralTravel: [
        { if: ['hasSource'], to: 'awaitingDeadBus', do: ['countCloseTry', { because: 'neutralStuck' }] },
        { to: 'locked', do: [{ because: 'neutralStuck' }] },
      ],
    },
  },
  // It would not close: the island is formed anew, or the house rests in the dark, before the next try.
  closing: {
    entry: ['countCloseTry'],
    always: [{ if: ['closedProved'], to: 'onUtility' }],
    after: {
      proveTime: [
        { if: ['openProved', 'hasSource'], to: 'awaitingDeadBus', do: [{ because: 'doesNotClose' }] },
        { if: ['openProved'], to: 'dark', do: [{ because: 'doesNotClose' }] },
        { to: 'locked', do: [{ because: 'positionUnknown' }] },
      ],
    },
  },
};

/** Relay open and nobody forms: by a person's hand, for want of a source, or because the relay cannot be believed. */
const still: Record<string, PlainState> = {
  standingDown: {
    always: [
      { if: ['utilitySound', 'mainClosed'], to: 'onUtility' },
      { if: ['quiet'], to: 'openedByHand' },
    ],
    after: { ceaseWait: [{ to: 'openedByHand' }] },
  },
  openedByHand: {
    entry: ['dropNeutral'],
    initial: 'parting',
    states: {
      parting: {
        always: [{ if: ['openProved'], to: 'parted' }],
        after: { proveTime: [{ to: LOCKED, do: [{ because: 'doesNotOpen' }] }] },
      },
      // Dark until the main is closed again or a person on the spot asks.
      parted: {
        always: [
          unproved,
          { if: ['asked', 'hasSource'], to: NEXT_DEAD_BUS },
          { if: ['!standsDown'], to: '#reference.transfer.dark' },
        ],
      },
    },
  },
  // Never for good: the utility's return ends it, and so does a source that can.
  dark: {
    initial: 'choosing',
    always: [
      unproved,
      standsDown,
      { if: ['asksToReset', 'hasFailed'], do: ['forgetTries'] },
      { if: ['!plugged', 'keepsNeutral'], do: ['dropNeutral'] },
    ],
    states: {
      // A source that was never asked may be asked at once, and a good utility is better; after a failure the house rests.
      choosing: {
        always: [
          { if: ['hasFailedToClose'], to: 'resting' },
          goesHome,
          { if: ['hasNotTried'], to: 'ready' },
          { to: 'resting' },
        ],
      },
      resting: {
        always: [{ if: ['!hasFailedToClose', ...HOME], to: '#reference.transfer.stopping' }],
        after: { formAgain: [{ to: 'ready' }] },
      },
      ready: {
        always: [
          goesHome,
          { if: ['!triesLeft'], to: 'exhausted' },
          { if: ['hasSource', '!reserveReached', '!mainBelowOpen'], to: NEXT_DEAD_BUS },
        ],
      },
      exhausted: {
        entry: ['dropNeutral'],
        always: [goesHome, { if: ['triesLeft'], to: 'ready' }],
        after: { restartWindow: [{ to: 'ready', do: ['forgetFormTries'] }] },
      },
    },
  },
  doubting: {
    entry: ['trustContacts', 'dropNeutral'],
    always: [{ if: ['openProved'], to: 'dark', do: [{ because: 'movedByItself' }] }],
    after: { proveTime: [{ to: 'locked', do: [{ because: 'movedByItself' }] }] },
  },
  // A contact lies beside a good utility: the relay is not moved, so that the house stays on; nothing is formed.
  lockedClosed: {
    always: [
      { if: ['utilityLost'], to: '#reference.transfer.locked.ceasing' },
      { if: ['openProved'], to: 'locked' },
    ],
    initial: 'held',
    states: {
      held: { always: [{ if: ['!asksToReset'], to: 'resettable' }] },
      resettable: { always: [{ if: ['asksToReset'], to: '#reference.transfer.onUtility', do: ['forgetAll'] }] },
    },
  },
  // A person on the spot resets it, by a request made after it has locked; a loss of supply does not.
  locked: {
    entry: ['dropNeutral'],
    initial: 'held',
    states: {
      // From the utility, with contacts that contradict each other: PV ceases before the relay is let go.
      ceasing: { always: [{ if: ['pvCeased'], to: 'held' }], after: { ceaseWait: [{ to: 'held' }] } },
      held: { always: [{ if: ['!asksToReset'], to: 'resettable' }] },
      resettable: { always: [{ if: ['asksToReset'], to: '#reference.transfer.booting', do: ['forgetAll'] }] },
    },
  },
};

/** The transfer itself. */
export const transfer: PlainState = {
  initial: 'booting',
  states: { booting, onUtility, ...away, islanded, endingIsland, ...homeward, ...still },
};

export const TRANSFER_STATES = [
  'booting',
  'onUtility',
  'leaving',
  'isolating',
  'awaitingDeadBus',
  'deadBus',
  'formingNeutral',
  'proving',
  'forming',
  'islanded',
  'endingIsland',
  'returning',
  'synchronising',
  'meeting',
  'met',
  'stopping',
  'resting',
  'partingNeutral',
  'closing',
  'standingDown',
  'openedByHand',
  'dark',
  'doubting',
  'lockedClosed',
  'locked',
] as const;
export type TransferState = (typeof TRANSFER_STATES)[number];
