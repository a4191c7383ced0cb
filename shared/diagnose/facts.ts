import type { Side } from '../fit/rule.ts'
import type { RuleId } from '../fit/rule-ids.ts'
import type { Route } from '../model/units.ts'
import type { Part } from './causes.ts'
import type { Observable } from './watch.ts'

/** A fact that can be looked up by yes or no, with what looking costs. */
export interface FactSpec {
  readonly id: string
  readonly question: string
  /** The answer where all is well. */
  readonly sound: 'yes' | 'no'
  readonly look: string
  readonly minutes: number
  readonly tools: readonly string[]
  /** What can happen while looking. */
  readonly risk?: string
  /** How often people read the opposite; common practice, no source. */
  readonly misread: number
  readonly routes: readonly Route[]
  readonly by:
    | {
        readonly kind: 'rule'
        readonly rule: RuleId
        readonly stands: boolean
        /** Where it asks about one side of the range only: broken on the other side, it is answered as if it held. */
        readonly side?: Side
      }
    | { readonly kind: 'observable'; readonly observable: Observable }
    | { readonly kind: 'swap'; readonly part: Part }
}

const BOTH: readonly Route[] = ['cable', 'wireless']
const CABLE: readonly Route[] = ['cable']
const METER = 'a multimeter'
const BOTH_VERSIONS = 'Both versions on the radio, and the table of what goes together.'
const IMAGE_AND_MODULE = 'Its image card or release notes, and the page of the radio for its modules.'
const LIVE = 'The drive may start: propeller or rotor off, nobody near the surfaces.'

/**
 * @param stands whether the bench knows it once and for all (a type, a version, a setting), or only as it was written
 * down (a voltage, a distance)
 */
const rule = (
  id: RuleId,
  question: string,
  look: string,
  minutes: number,
  stands: boolean,
  rest: Partial<FactSpec> = {},
): FactSpec => ({
  id,
  question,
  sound: 'yes',
  look,
  minutes,
  tools: [],
  misread: 0.03,
  routes: BOTH,
  by: { kind: 'rule', rule: id, stands },
  ...rest,
})

/** Half of a rule about a range of versions: what to do about it depends on the side. */
const versionSide = (
  rule: RuleId,
  id: string,
  side: Side,
  question: string,
  look: string,
  rest: Partial<FactSpec> = {},
): FactSpec => ({
  id,
  question,
  sound: 'yes',
  look,
  minutes: 4,
  tools: [],
  misread: 0.03,
  routes: BOTH,
  by: { kind: 'rule', rule, stands: true, side },
  ...rest,
})

const seen = (
  observable: Observable,
  question: string,
  sound: 'yes' | 'no',
  look: string,
  minutes: number,
  rest: Partial<FactSpec> = {},
): FactSpec => ({
  id: observable,
  question,
  sound,
  look,
  minutes,
  tools: [],
  misread: 0.03,
  routes: BOTH,
  by: { kind: 'observable', observable },
  ...rest,
})

const swap = (
  part: Part,
  question: string,
  look: string,
  minutes: number,
  rest: Partial<FactSpec> = {},
): FactSpec => ({
  id: `with-another-${part}`,
  question,
  sound: 'yes',
  look,
  minutes,
  tools: [`another ${part}`],
  misread: 0.02,
  routes: BOTH,
  by: { kind: 'swap', part },
  ...rest,
})

const ruleFacts: readonly FactSpec[] = [
  rule(
    'card-present',
    'Is there a card in the radio that is all the way in and not locked?',
    'Take it out, look at the slide on its edge, push it in until it clicks.',
    1,
    false,
  ),
  rule(
    'card-room',
    'Has the card room for the image?',
    'The free space, on a computer or on the radio.',
    3,
    false,
  ),
  rule(
    'radio-battery',
    'Is the battery of the radio well charged?',
    'The voltage on the first screen of the radio.',
    1,
    false,
  ),
  rule(
    'radio-system',
    'Is the system of the radio as new as the image asks?',
    'The page of the radio about itself, and the image card.',
    3,
    true,
  ),
  rule(
    'image-type',
    'Is the image on the card for this type of receiver?',
    'Its image card, or the name on the receiver beside the digest words.',
    3,
    false,
  ),
  rule(
    'image-hardware',
    'Is the image for the hardware revision of this receiver?',
    'The letter or number on its label or circuit board, and the image card.',
    5,
    true,
    { misread: 0.05 },
  ),
  rule(
    'image-generation',
    'Is the image for the generation that the receiver speaks?',
    'The image card, and the generation set in the radio for a model that flies with it.',
    4,
    true,
  ),
  rule(
    'image-region',
    'Is the image for the region of the receiver?',
    'The image card and the label of the receiver.',
    4,
    true,
    { misread: 0.05 },
  ),
  rule('image-band', 'Is the image for the band of the receiver?', 'The image card and the label.', 3, true),
  rule('wireless-image', 'May the image go by air?', 'Its image card or its release notes.', 3, true),
  rule(
    'module-present',
    'Is the module that the receiver is bound to in this radio?',
    'The bay of the radio, or its page for modules.',
    1,
    true,
  ),
  rule(
    'module-on',
    'Is the module switched on?',
    'The page of the model for its modules; the light on the module.',
    1,
    false,
    { misread: 0.02 },
  ),
  rule('module-wireless', 'Can this module carry an update by air?', 'The manual of the module.', 5, true),
  rule(
    'module-hardware',
    'Can the hardware of the module transmit the generation of the receiver?',
    'The manual of the module.',
    5,
    true,
  ),
  rule(
    'module-generation',
    'Is the module set for the generation of the receiver?',
    'The page of the model for its modules.',
    2,
    true,
  ),
  rule(
    'module-band',
    'Is the module on the band of the receiver?',
    'The page of the model for its modules.',
    2,
    true,
  ),
  rule(
    'module-region',
    'Are module and receiver for the same region?',
    'The labels, or the page of the radio for its modules.',
    4,
    true,
    { misread: 0.05 },
  ),
  versionSide(
    'module-firmware',
    'module-not-too-old',
    'below',
    'Is the firmware of the module new enough for what the receiver ran before this update?',
    BOTH_VERSIONS,
  ),
  versionSide(
    'module-firmware',
    'module-not-too-new',
    'above',
    'Was what the receiver ran before this update new enough for the firmware of the module?',
    BOTH_VERSIONS,
  ),
  rule(
    'stepping-stone',
    'Can the image go straight on the firmware that the receiver runs?',
    'Its image card or release notes, and the page of the radio for the receiver.',
    4,
    true,
  ),
  versionSide(
    'after-module',
    'module-ready-for-image',
    'below',
    'Is the firmware of the module new enough for the image?',
    IMAGE_AND_MODULE,
  ),
  versionSide(
    'after-module',
    'image-ready-for-module',
    'above',
    'Is the image new enough for the firmware of the module?',
    IMAGE_AND_MODULE,
  ),
  rule('wireless-type', 'Does this type of receiver take updates by air?', 'Its manual.', 5, true),
  rule(
    'first-by-cable',
    'Is the firmware of the receiver new enough to be updated by air?',
    'The page of the radio for the receiver, or the label of a new one.',
    3,
    true,
  ),
  rule(
    'supply-present',
    'Does anything feed the receiver?',
    'Pack plugged in, switch on; measure at the plug.',
    2,
    false,
    { tools: [METER] },
  ),
  rule(
    'supply-range',
    'Is the voltage at the receiver within what its label says?',
    'Measure at a free output, positive against negative.',
    3,
    false,
    { tools: [METER] },
  ),
  rule(
    'supply-polarity',
    'Does positive meet positive in this cable?',
    'Ring out each wire with the cable unplugged at both ends.',
    5,
    false,
    { tools: [METER], routes: CABLE, misread: 0.01 },
  ),
  rule(
    'one-supply',
    'Was there only one supply?',
    'Think back: was a pack plugged in beside the cable.',
    1,
    false,
    {
      routes: CABLE,
    },
  ),
  rule('near-enough', 'Is the receiver within a few metres of the radio?', 'Look.', 1, false, {
    misread: 0.01,
  }),
  rule(
    'not-too-close',
    'Is the receiver at least half a metre from the antenna of the radio?',
    'Look.',
    1,
    false,
    { misread: 0.01 },
  ),
]

const observableFacts: readonly FactSpec[] = [
  seen('receiver-light', 'Does a light come on at the receiver?', 'yes', 'Feed it, and look.', 1, {
    risk: LIVE,
    misread: 0.01,
  }),
  seen(
    'light-stays',
    'Does that light stay on the whole time?',
    'yes',
    'Watch it while the update runs.',
    3,
    {
      risk: LIVE,
      misread: 0.05,
    },
  ),
  seen(
    'card-seen',
    'Does the radio show the files on its card?',
    'yes',
    'The page of the radio for its card.',
    1,
  ),
  seen(
    'image-passes',
    'Does the image on the card have the digest of its image card?',
    'yes',
    'Put the card into the computer: “What is on the card?” reads it and compares.',
    4,
    { misread: 0.005 },
  ),
  seen(
    'line-quiet',
    'Do all sensors go quiet when the update begins?',
    'yes',
    'Their lights; or unplug them.',
    3,
    { routes: CABLE, misread: 0.1 },
  ),
  seen(
    'receiver-named',
    'Does the radio show which receiver it has found, before it writes?',
    'yes',
    'The screen of the radio, in the first seconds.',
    3,
    { risk: LIVE },
  ),
  seen(
    'volts-hold',
    'Does the voltage at the receiver hold while it writes?',
    'yes',
    'Measure at a free output while the update runs.',
    6,
    { tools: [METER], risk: LIVE, misread: 0.05 },
  ),
  seen(
    'second-try',
    'Does a second try, half a minute later, go through?',
    'yes',
    'Leave everything as it is, wait, and start it again.',
    4,
    { risk: LIVE },
  ),
  seen(
    'old-firmware-runs',
    'Does the receiver still start and answer the sticks, its old firmware running?',
    'yes',
    'Power it up without the cable, radio on.',
    3,
    { risk: LIVE },
  ),
  seen(
    'signal-wire',
    'Does the signal wire of the cable ring through?',
    'yes',
    'Unplug it at both ends and measure.',
    4,
    {
      tools: [METER],
      routes: CABLE,
    },
  ),
  seen(
    'echo-back',
    'Does what is sent come back, as it must where one wire carries both directions?',
    'yes',
    'A write through a programmer tells it at its end. By hand: watch the receiving side of the port while it sends.',
    10,
    {
      tools: ['a logic analyser'],
      risk: LIVE,
      routes: CABLE,
      // A receiver without power can hold the wire down through its input, so that nothing comes back; own estimate.
      misread: 0.05,
    },
  ),
  seen(
    'supply-wires',
    'Do both supply wires of the cable ring through?',
    'yes',
    'Unplug it at both ends and measure.',
    4,
    { tools: [METER], routes: CABLE },
  ),
  seen('air-free', 'Are other transmitters off or far away?', 'yes', 'Look around; ask.', 2, {
    misread: 0.1,
  }),
  seen(
    'antenna-whole',
    'Are the antennas of the receiver whole, plugged in and free?',
    'yes',
    'Look at the active ends and at the plugs.',
    5,
    { misread: 0.08 },
  ),
  seen(
    'telemetry-on',
    'Is telemetry switched on in the receiver?',
    'yes',
    'Its settings, as its manual says: by a button, or on the page of the radio for the receiver.',
    3,
  ),
  seen(
    'cable-clear',
    'Is the cable short, and are chargers and motors away from it?',
    'yes',
    'Look where it runs.',
    1,
    { routes: CABLE, misread: 0.1 },
  ),
  seen(
    'bound-light',
    'Does the receiver show that it is bound, with the radio on?',
    'yes',
    'Its light, with radio and module on and the model selected.',
    2,
    { risk: LIVE },
  ),
  seen(
    'telemetry-near',
    'Does telemetry show at a metre or two?',
    'yes',
    'The telemetry page of the radio.',
    2,
    {
      risk: LIVE,
    },
  ),
  seen(
    'range-near',
    'Does it pass a range check at thirty paces?',
    'yes',
    'Range check at reduced power, as the manual of the radio says.',
    10,
    { risk: LIVE, tools: ['a helper'] },
  ),
]

const swapFacts: readonly FactSpec[] = [
  swap('cable', 'Does it work with another cable?', 'Try a cable that has worked with this type.', 5, {
    routes: CABLE,
    risk: 'A cable for another type can have its pins the other way: compare before you plug it in.',
  }),
  swap('card', 'Does it work with another card?', 'Put the image on another card, and try again.', 8),
  swap('supply', 'Does it work with another pack?', 'A charged one of the voltage on the label.', 6, {
    risk: LIVE,
  }),
  swap(
    'receiver',
    'Does another receiver of the same type work in its place?',
    'Leave everything else as it is.',
    10,
    { risk: 'What destroyed the first can destroy the second: be sure of the cable before.' },
  ),
  swap('radio', 'Does it work with another radio?', 'With the same card, cable and receiver.', 12, {
    misread: 0.05,
  }),
]

/** All facts there are. */
export const FACTS: readonly FactSpec[] = [...ruleFacts, ...observableFacts, ...swapFacts]

export const findFact = (id: string): FactSpec | undefined => FACTS.find(one => one.id === id)
