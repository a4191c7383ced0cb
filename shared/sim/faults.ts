import { around } from '../model/bench.ts'
import { failed, type Problem, type Result, succeeded } from '../model/problem.ts'
import { type Band, bandSchema, isKnown, type Route } from '../model/units.ts'
import type { Setup, World } from './world.ts'

/**
 * Faults that can be switched on, alone or together. Each is a change of the bench or of the world that the
 * simulated devices then run into by their own rules; none decides an outcome.
 */
export interface Fault {
  readonly name: FaultName
  readonly label: string
  /** What happens physically, in a sentence for a person. */
  readonly mechanism: string
  readonly routes: readonly Route[]
  readonly parameter: FaultParameter | undefined
  /** What a person does about it; the first step of a recovery. */
  readonly cure: string
  readonly apply: (setup: Setup, value: string) => Setup
}

export type FaultParameter =
  | {
      readonly kind: 'number'
      readonly label: string
      readonly unit: string
      readonly least: number
      readonly most: number
      readonly usual: number
    }
  | {
      readonly kind: 'choice'
      readonly label: string
      readonly choices: readonly { readonly value: string; readonly label: string }[]
      readonly usual: string
    }

export const FAULT_NAMES = [
  'chatty-sensor',
  'slow-settle',
  'line-noise',
  'cable-loose',
  'supply-sag',
  'power-cut',
  'wrong-type',
  'damaged-image',
  'module-off',
  'module-generation',
  'module-band',
  'module-too-old',
  'module-too-new',
  'out-of-range',
  'too-close',
  'interference',
  'card-pulled',
  'card-full',
  'radio-battery-low',
  'reversed-cable',
  'second-supply',
  'card-not-seated',
  'signal-wire-open',
  'binding-lost',
  'antenna-damaged',
  'receiver-dead',
  'worn-flash',
  'near-end-open',
  'near-end-deaf',
] as const
export type FaultName = (typeof FAULT_NAMES)[number]

const BOTH: readonly Route[] = ['cable', 'wireless']
const CABLE: readonly Route[] = ['cable']
const WIRELESS: readonly Route[] = ['wireless']

const seconds = (label: string, usual: number): FaultParameter => ({
  kind: 'number',
  label,
  unit: 's',
  least: 0,
  most: 3600,
  usual,
})

const inWorld = (setup: Setup, change: Partial<World>): Setup => ({
  ...setup,
  world: { ...setup.world, ...change },
})

/** Changes the module that this receiver is bound to. */
function inModule(setup: Setup, change: Partial<Setup['bench']['modules'][number]>): Setup {
  const { module } = around(setup.bench, setup.receiverId)
  if (module === undefined) return setup
  const modules = setup.bench.modules.map(m => (m.id === module.id ? { ...m, ...change } : m))
  return { ...setup, bench: { ...setup.bench, modules } }
}

function inRadio(setup: Setup, change: Partial<Setup['bench']['radios'][number]>): Setup {
  const { radio } = around(setup.bench, setup.receiverId)
  if (radio === undefined) return setup
  const radios = setup.bench.radios.map(r => (r.id === radio.id ? { ...r, ...change } : r))
  return { ...setup, bench: { ...setup.bench, radios } }
}

function inCard(setup: Setup, change: Partial<Setup['bench']['cards'][number]>): Setup {
  const { card } = around(setup.bench, setup.receiverId)
  if (card === undefined) return setup
  const cards = setup.bench.cards.map(c => (c.id === card.id ? { ...c, ...change } : c))
  return { ...setup, bench: { ...setup.bench, cards } }
}

const inWiring = (setup: Setup, change: Partial<Setup['bench']['wiring']>): Setup => ({
  ...setup,
  bench: { ...setup.bench, wiring: { ...setup.bench.wiring, ...change } },
})

function otherBand(setup: Setup): Band {
  const { module } = around(setup.bench, setup.receiverId)
  return module?.band === '2.4GHz' ? '868MHz' : '2.4GHz'
}

function otherGeneration(setup: Setup): number {
  const { module } = around(setup.bench, setup.receiverId)
  const set = module !== undefined && isKnown(module.generation) ? module.generation : 3
  return set > 1 ? set - 1 : set + 1
}

function reversed(setup: Setup): Setup {
  const flip = { signal: 'signal', positive: 'negative', negative: 'positive' } as const
  const { cable } = around(setup.bench, setup.receiverId)
  const cables = setup.bench.cables.map(c =>
    c.id === cable?.id ? { ...c, wires: c.wires.map(w => ({ from: w.from, to: flip[w.to] })) } : c,
  )
  return { ...setup, bench: { ...setup.bench, cables } }
}

function withoutSignal(setup: Setup): Setup {
  const { cable } = around(setup.bench, setup.receiverId)
  const cables = setup.bench.cables.map(c =>
    c.id === cable?.id ? { ...c, wires: c.wires.filter(w => w.from !== 'signal' && w.to !== 'signal') } : c,
  )
  return { ...setup, bench: { ...setup.bench, cables } }
}

/** Two supplies at once: the cable feeds, and so does a pack; without a pack on the bench a full one is put there. */
function secondSupply(setup: Setup): Setup {
  const { supply } = around(setup.bench, setup.receiverId)
  const both = inWiring(setup, { cableFeed: 'both' })
  if (supply !== undefined) return both
  const pack = {
    id: 'second-pack',
    nickname: 'Second pack',
    kind: 'pack' as const,
    volts: 6.6,
    internalOhms: 0.04,
    limitMilliamps: 5000,
  }
  return {
    ...both,
    bench: {
      ...both.bench,
      supplies: [...both.bench.supplies, pack],
      wiring: { ...both.bench.wiring, benchSupplyId: pack.id },
    },
  }
}

export const FAULTS: readonly Fault[] = [
  {
    name: 'chatty-sensor',
    label: 'A sensor goes on talking',
    mechanism:
      'A telemetry sensor on the shared line goes on talking after it was told to be quiet, and talks over the first writes.',
    routes: CABLE,
    parameter: seconds('Goes on talking for', 6),
    cure: 'Unplug the sensors from the telemetry bus.',
    apply: (s, v) => inWorld(s, { sensorTalksForMs: Number(v) * 1000 }),
  },
  {
    name: 'slow-settle',
    label: 'Receiver slow to settle',
    mechanism:
      'The receiver needs longer in its boot loader before it takes a write: it says who it is, but the first write goes unheard.',
    routes: BOTH,
    parameter: seconds('Settles after', 3),
    cure: 'Leave the receiver in its boot loader and start the write again.',
    apply: (s, v) => inWorld(s, { settleMs: Number(v) * 1000 }),
  },
  {
    name: 'line-noise',
    label: 'Noise on the line',
    mechanism: 'Bits on the cable arrive inverted at random, at this bit error rate.',
    routes: CABLE,
    parameter: { kind: 'number', label: 'Bit error rate', unit: '', least: 0, most: 0.5, usual: 0.00002 },
    cure: 'Use a shorter cable, away from motors and chargers.',
    apply: (s, v) => inWorld(s, { bitErrorRate: Number(v) }),
  },
  {
    name: 'cable-loose',
    label: 'Cable comes loose',
    mechanism: 'The update cable opens at this moment; signal and the feed through it are gone.',
    routes: CABLE,
    parameter: seconds('Opens after', 20),
    cure: 'Seat the cable again, keyed side to keyed side.',
    apply: (s, v) => inWorld(s, { cableLooseAtMs: Number(v) * 1000 }),
  },
  {
    name: 'supply-sag',
    label: 'Supply sags under load',
    mechanism:
      'Resistance in the path of the supply (a tired pack, a thin lead) lets the voltage fall when the receiver erases and writes.',
    routes: BOTH,
    parameter: { kind: 'number', label: 'Added resistance', unit: 'ohm', least: 0, most: 1000, usual: 22 },
    cure: 'Use a charged pack of the right voltage with short, sound leads.',
    apply: (s, v) => inWorld(s, { extraSupplyOhms: Number(v) }),
  },
  {
    name: 'power-cut',
    label: 'Power cut',
    mechanism: "The receiver's supply goes away at this moment.",
    routes: BOTH,
    parameter: seconds('Cut after', 25),
    cure: 'Restore the supply.',
    apply: (s, v) => inWorld(s, { powerCutAtMs: Number(v) * 1000 }),
  },
  {
    name: 'wrong-type',
    label: 'Image for another type',
    mechanism: 'The file on the card is for another type of receiver.',
    routes: BOTH,
    parameter: {
      kind: 'choice',
      label: 'Its label',
      usual: 'labelled',
      choices: [
        { value: 'labelled', label: 'says so' },
        { value: 'mislabelled', label: 'claims to be the right one' },
      ],
    },
    cure: 'Put the right image on the card.',
    apply: (s, v) =>
      inWorld(s, { cardImage: { kind: 'other-type', typeId: undefined, labelled: v === 'labelled' } }),
  },
  {
    name: 'damaged-image',
    label: 'Damaged image',
    mechanism: 'One octet of the image on the card is not what it was when its image card was written.',
    routes: BOTH,
    parameter: {
      kind: 'number',
      label: 'Damaged octet',
      unit: 'from start',
      least: 0,
      most: 0xffff_ffff,
      usual: 4096,
    },
    cure: 'Fetch the image again and put it on the card.',
    apply: (s, v) => inWorld(s, { cardImage: { kind: 'damaged', atByte: Math.floor(Number(v)) } }),
  },
  {
    name: 'module-off',
    label: 'Module switched off',
    mechanism: 'The RF module is switched off, so nothing goes out on the air.',
    routes: WIRELESS,
    parameter: undefined,
    cure: 'Switch the module on.',
    apply: s => inModule(s, { on: false }),
  },
  {
    name: 'module-generation',
    label: 'Module set for another generation',
    mechanism: 'The module transmits another generation of the link than the receiver listens for.',
    routes: WIRELESS,
    parameter: {
      kind: 'choice',
      label: 'Generation',
      usual: 'other',
      choices: [
        { value: 'other', label: 'another one' },
        { value: '1', label: 'generation 1' },
        { value: '2', label: 'generation 2' },
        { value: '3', label: 'generation 3' },
      ],
    },
    cure: "Set the module for the receiver's generation.",
    apply: (s, v) => inModule(s, { generation: v === 'other' ? otherGeneration(s) : Number(v) }),
  },
  {
    name: 'module-band',
    label: 'Module on another band',
    mechanism: 'The module transmits on another band than the receiver listens on.',
    routes: WIRELESS,
    parameter: {
      kind: 'choice',
      label: 'Band',
      usual: 'other',
      choices: [
        { value: 'other', label: 'another one' },
        ...bandSchema.options.map(band => ({ value: band, label: band })),
      ],
    },
    cure: "Set the module for the receiver's band.",
    apply: (s, v) => inModule(s, { band: v === 'other' ? otherBand(s) : bandSchema.parse(v) }),
  },
  {
    name: 'module-too-old',
    label: 'Module firmware too old',
    mechanism: "The module's firmware is older than the receiver's firmware works with.",
    routes: WIRELESS,
    parameter: undefined,
    cure: 'Update the module first.',
    apply: s => inModule(s, { firmware: '0.1.0' }),
  },
  {
    name: 'module-too-new',
    label: 'Module firmware too new',
    mechanism: "The module's firmware is newer than the receiver's firmware works with.",
    routes: WIRELESS,
    parameter: undefined,
    cure: 'Update the receiver once by cable, so that it catches up with the module.',
    apply: s => inModule(s, { firmware: '99.0.0' }),
  },
  {
    name: 'out-of-range',
    label: 'Receiver too far away',
    mechanism: 'The receiver is so far away that too little of the signal reaches it.',
    routes: WIRELESS,
    parameter: { kind: 'number', label: 'Distance', unit: 'm', least: 1, most: 20_000, usual: 4000 },
    cure: 'Bring the model within a few metres.',
    apply: (s, v) => inWiring(s, { distanceMetres: Math.min(20_000, Math.max(0.01, Number(v))) }),
  },
  {
    name: 'too-close',
    label: 'Receiver too close',
    mechanism: 'The receiver lies so close to the antenna that its input is overloaded.',
    routes: WIRELESS,
    parameter: { kind: 'number', label: 'Distance', unit: 'm', least: 0.01, most: 5, usual: 0.03 },
    cure: 'Move the receiver a metre or two away from the antenna.',
    apply: (s, v) => inWiring(s, { distanceMetres: Math.max(0.01, Number(v)) }),
  },
  {
    name: 'interference',
    label: 'Interference on the air',
    mechanism:
      'Somebody else occupies the channels for this share of the time: a module that listens first waits, one that does not loses packets.',
    routes: WIRELESS,
    parameter: { kind: 'number', label: 'Share of the time', unit: '%', least: 0, most: 100, usual: 25 },
    cure: 'Move away from the interferer, or wait until it is gone.',
    apply: (s, v) => inWorld(s, { interference: { share: Number(v) / 100, dbm: -45 } }),
  },
  {
    name: 'card-pulled',
    label: 'Card pulled',
    mechanism: 'The card is taken out of the radio at this moment.',
    routes: BOTH,
    parameter: seconds('Pulled after', 15),
    cure: 'Put the card back, and check the image on it.',
    apply: (s, v) => inWorld(s, { cardPulledAtMs: Number(v) * 1000 }),
  },
  {
    name: 'card-full',
    label: 'Card full',
    mechanism: 'The card has no free clusters left for the image.',
    routes: BOTH,
    parameter: { kind: 'number', label: 'Free', unit: 'KiB', least: 0, most: 1_000_000, usual: 16 },
    cure: 'Make room on the card, or use another one.',
    apply: (s, v) => inCard(s, { freeBytes: Math.round(Number(v) * 1024) }),
  },
  {
    name: 'radio-battery-low',
    label: 'Radio battery low',
    mechanism: "The radio's battery is at this voltage: it may refuse to start, or die on the way.",
    routes: BOTH,
    parameter: { kind: 'number', label: 'Battery', unit: 'V', least: 0, most: 30, usual: 6.3 },
    cure: 'Charge the radio.',
    apply: (s, v) => inRadio(inWorld(s, { batteryVoltsPerMinute: 0.25 }), { batteryVolts: Number(v) }),
  },
  {
    name: 'reversed-cable',
    label: 'Cable with reversed supply',
    mechanism: 'Positive and negative are swapped in the update cable.',
    routes: CABLE,
    parameter: undefined,
    cure: 'Destroy the cable, so that nobody uses it again. The receiver is lost.',
    apply: reversed,
  },
  {
    name: 'second-supply',
    label: 'Two supplies at once',
    mechanism: 'The receiver is fed through the update cable and from its own pack at the same time.',
    routes: CABLE,
    parameter: undefined,
    cure: 'Unplug the pack: the cable feeds the receiver.',
    apply: secondSupply,
  },
  {
    name: 'card-not-seated',
    label: 'Card not all the way in',
    mechanism: 'The card is not all the way in, so the radio sees none.',
    routes: BOTH,
    parameter: undefined,
    cure: 'Push the card in until it clicks.',
    apply: s => inRadio(s, { cardId: undefined }),
  },
  {
    name: 'signal-wire-open',
    label: 'Signal wire broken',
    mechanism: 'The signal wire of the update cable is broken inside; the supply still comes through.',
    routes: CABLE,
    parameter: undefined,
    cure: 'Use another cable.',
    apply: withoutSignal,
  },
  {
    name: 'binding-lost',
    label: 'Binding lost',
    mechanism: 'Receiver and module no longer know each other, so neither answers the other by air.',
    routes: WIRELESS,
    parameter: undefined,
    cure: 'Bind the receiver to the module again.',
    apply: s => inWorld(s, { bindingLost: true }),
  },
  {
    name: 'antenna-damaged',
    label: 'Antenna damaged',
    mechanism:
      'The active end of the antenna of the receiver is broken, cut or shielded; every signal loses this much.',
    routes: WIRELESS,
    parameter: { kind: 'number', label: 'Lost', unit: 'dB', least: 0, most: 120, usual: 30 },
    cure: 'Replace the antenna, and lay its active end straight and free.',
    apply: (s, v) => inWorld(s, { antennaLossDb: Number(v) }),
  },
  {
    name: 'receiver-dead',
    label: 'Receiver destroyed',
    mechanism: 'Something destroyed the receiver before: it stays dark whatever feeds it.',
    routes: BOTH,
    parameter: undefined,
    cure: 'Replace the receiver.',
    apply: s => inWorld(s, { receiverDead: true }),
  },
  {
    name: 'worn-flash',
    label: 'Worn flash',
    mechanism: 'A cell of the flash, written too often, does not take every bit at first.',
    routes: BOTH,
    parameter: {
      kind: 'number',
      label: 'From octet',
      unit: 'from start',
      least: 0,
      most: 0xffff_ffff,
      usual: 2048,
    },
    cure: 'Write it once more; where it fails at the same place again, replace the receiver.',
    apply: (s, v) => inWorld(s, { wornFlashAt: Math.floor(Number(v)) }),
  },
  {
    name: 'near-end-open',
    label: 'Cable not on the port that sends',
    mechanism:
      'Where it is sent from, the signal does not get into the cable: it is in another port, or a pin makes no contact. The supply may still come through.',
    routes: CABLE,
    parameter: undefined,
    cure: 'Push the plug all the way into the port that the update is sent from.',
    apply: s => inWorld(s, { nearEnd: 'open' }),
  },
  {
    name: 'near-end-deaf',
    label: 'Port does not hear the wire',
    mechanism:
      'The receiver hears what is sent and answers, but the receiving side of the port is not joined to the wire.',
    routes: CABLE,
    parameter: undefined,
    cure: 'Join sending and receiving side at the one wire, or use a port that is made for one wire.',
    apply: s => inWorld(s, { nearEnd: 'deaf' }),
  },
]

const byName = new Map(FAULTS.map(fault => [fault.name as string, fault]))

export const findFault = (name: string): Fault | undefined => byName.get(name)

function checkValue(fault: Fault, given: string | undefined): string | Problem {
  const { parameter } = fault
  const wrong = (expected: string): Problem => ({
    code: 'fault.value',
    field: `fault ${fault.name}`,
    message: `"${given}" is not a value for this fault.`,
    expected,
  })
  if (parameter === undefined) return given === undefined || given === '' ? '' : wrong('no value')
  if (given === undefined || given === '') return String(parameter.usual)
  if (parameter.kind === 'choice') {
    const choices = parameter.choices.map(c => c.value)
    return choices.includes(given) ? given : wrong(`one of ${choices.join(', ')}`)
  }
  const value = given.trim() === '' ? Number.NaN : Number(given)
  return Number.isFinite(value) && value >= parameter.least && value <= parameter.most
    ? given
    : wrong(`a number from ${parameter.least} to ${parameter.most} ${parameter.unit}`.trimEnd())
}

/**
 * Applies the chosen faults, in the order of the list above so that the order of choosing does not matter.
 * @returns the changed set-up, or a problem that names the fault and what it would take
 */
export function applyFaults(
  setup: Setup,
  choices: readonly { name: string; value?: string }[],
): Result<Setup> {
  const problems: Problem[] = []
  const values = new Map<string, string>()
  for (const choice of choices) {
    const fault = byName.get(choice.name)
    if (fault === undefined) {
      problems.push({
        code: 'fault.unknown',
        field: 'fault',
        message: `There is no fault called "${choice.name}".`,
        expected: `one of ${FAULT_NAMES.join(', ')}`,
      })
      continue
    }
    const value = checkValue(fault, choice.value)
    if (typeof value === 'string') values.set(fault.name, value)
    else problems.push(value)
  }
  if (problems.length > 0) return failed(...problems)
  let changed = setup
  for (const fault of FAULTS) {
    const value = values.get(fault.name)
    if (value !== undefined) changed = fault.apply(changed, value)
  }
  return succeeded(changed)
}
