import type { RuleId } from '../fit/rule-ids.ts'
import type { Route } from '../model/units.ts'
import {
  both,
  fault,
  inCard,
  inImage,
  inModule,
  inModuleType,
  inRadio,
  inReceiver,
  inReceiverType,
  inSupply,
  inWorld,
  onBench,
  type Put,
  withoutWire,
} from './put.ts'

/** Where a cause sits: what has to be swapped to be rid of it. */
export const PARTS = [
  'image',
  'card',
  'radio',
  'module',
  'cable',
  'supply',
  'sensor',
  'air',
  'setting',
  'receiver',
] as const
export type Part = (typeof PARTS)[number]

export interface Cause {
  readonly id: string
  readonly label: string
  /** What happens physically, in a sentence. */
  readonly mechanism: string
  readonly part: Part
  readonly routes: readonly Route[]
  /**
   * How often it is the reason, of a thousand updates that went wrong. Common practice, no source: estimates that the
   * counts of one's own logbook take over from.
   */
  readonly perThousand: number
  /** The fit rule that it breaks, where it breaks one. */
  readonly rule: RuleId | undefined
  readonly repair: {
    readonly label: string
    readonly minutes: number
    readonly reversible: boolean
    readonly caution?: string
  }
  /** The forms that it takes: each is put on the table by itself. */
  readonly variants: readonly Put[]
}

const BOTH: readonly Route[] = ['cable', 'wireless']
const CABLE: readonly Route[] = ['cable']
const AIR: readonly Route[] = ['wireless']
const POWER = 'Look at the label for the voltage, and twice at the plug: a reversed one destroys a receiver.'
const PROPELLER = 'Propeller or rotor off, drive disconnected.'

const cause = (
  id: string,
  part: Part,
  routes: readonly Route[],
  perThousand: number,
  label: string,
  mechanism: string,
  repair: Cause['repair'],
  variants: readonly Put[],
  rule?: RuleId,
): Cause => ({ id, part, routes, perThousand, label, mechanism, repair, variants, rule })

const does = (label: string, minutes: number, caution?: string, reversible = true): Cause['repair'] => ({
  label,
  minutes,
  reversible,
  ...(caution === undefined ? {} : { caution }),
})

const imageCauses: readonly Cause[] = [
  cause(
    'image-wrong-type',
    'image',
    BOTH,
    60,
    'The image is for another type of receiver',
    'The receiver looks for its own type in the image, does not find it, and refuses.',
    does('Put the image for this type on the card.', 6),
    [fault('wrong-type', 'labelled'), fault('wrong-type', 'mislabelled')],
    'image-type',
  ),
  cause(
    'image-damaged',
    'image',
    BOTH,
    30,
    'The image on the card is damaged',
    'Some octets are not those that its card was written for, so the radio does not pass it on.',
    does('Fetch the image again, and put it on the card.', 8),
    [fault('damaged-image', '100'), fault('damaged-image', '4096')],
    'image-intact',
  ),
  cause(
    'image-wrong-revision',
    'image',
    BOTH,
    25,
    'The image is for another hardware revision',
    'Another revision has other parts on its board; the receiver refuses an image that is not for its own.',
    does('Put the image for this revision on the card.', 6),
    [inImage({ hardwareRevisions: ['Z'] })],
    'image-hardware',
  ),
  cause(
    'image-wrong-generation',
    'image',
    BOTH,
    35,
    'The image is for another generation of the link',
    'The receiver would no longer understand the module, and there is no conversion that allows it.',
    does('Put the image for the generation of the receiver on the card.', 6),
    [inImage({ generation: 2 })],
    'image-generation',
  ),
  cause(
    'image-wrong-region',
    'image',
    BOTH,
    50,
    'The image is for the other region',
    'Receiver and image share the air in different ways, listen-before-talk or hopping.',
    does('Put the image for the region of the receiver on the card.', 6),
    [inImage({ region: 'hopping' })],
    'image-region',
  ),
  cause(
    'image-wrong-band',
    'image',
    BOTH,
    8,
    'The image is for another band',
    'The receiver has no parts for that band, and refuses.',
    does('Put the image for the band of the receiver on the card.', 6),
    [inImage({ bands: ['915MHz'] })],
    'image-band',
  ),
  cause(
    'image-cable-only',
    'image',
    AIR,
    35,
    'The image may only go by cable',
    'Its maker did not make it for the air, and the receiver refuses it there.',
    does('Update by cable.', 15, POWER),
    [inImage({ wirelessCapable: false })],
    'wireless-image',
  ),
]

const cardCauses: readonly Cause[] = [
  cause(
    'card-not-seated',
    'card',
    BOTH,
    40,
    'The card is not all the way in',
    'Its contacts do not meet, so the radio sees none.',
    does('Push the card in until it clicks.', 1),
    [fault('card-not-seated')],
    'card-present',
  ),
  cause(
    'card-locked',
    'card',
    BOTH,
    12,
    'The card is locked',
    'The slide on its edge stands on lock, so nothing can be written.',
    does('Slide the lock open.', 1),
    [inCard({ readOnly: true })],
    'card-present',
  ),
  cause(
    'card-full',
    'card',
    BOTH,
    15,
    'The card is full',
    'There are fewer free clusters than the image takes.',
    does('Make room on the card.', 5, undefined, false),
    [fault('card-full', '4')],
    'card-room',
  ),
  cause(
    'card-contact',
    'card',
    BOTH,
    12,
    'The card loses contact on the way',
    'A shock or a worn slot parts it from the radio while the image is being read.',
    does('Clean and seat the card, or take another one.', 4),
    [fault('card-pulled', '0.3'), fault('card-pulled', '1')],
  ),
]

const radioCauses: readonly Cause[] = [
  cause(
    'radio-battery-low',
    'radio',
    BOTH,
    45,
    'The battery of the radio is low',
    'Below its limit the radio starts no update, so that it does not go off in the middle of one.',
    does('Charge the radio.', 60),
    [fault('radio-battery-low', '6.5')],
    'radio-battery',
  ),
  cause(
    'radio-system-old',
    'radio',
    BOTH,
    45,
    'The system of the radio is too old for the image',
    'The radio does not know what this image asks of it.',
    does('Update the system of the radio.', 30),
    [inRadio({ systemVersion: '1.0.0' })],
    'radio-system',
  ),
]

const moduleCauses: readonly Cause[] = [
  cause(
    'module-absent',
    'module',
    BOTH,
    12,
    'The module that the receiver is bound to is not in this radio',
    'Nobody is there who could reach the receiver by air.',
    does('Put that module into the radio, or update by cable.', 5),
    [inRadio({ moduleIds: [] })],
    'module-present',
  ),
  cause(
    'module-off',
    'setting',
    BOTH,
    70,
    'The module is switched off',
    'Nothing goes out on the air.',
    does('Switch the module on.', 1, PROPELLER),
    [fault('module-off')],
    'module-on',
  ),
  cause(
    'module-no-updates',
    'module',
    AIR,
    25,
    'This module cannot carry an update by air',
    'Its maker did not build it for that.',
    does('Update by cable.', 15, POWER),
    [inModuleType({ wirelessUpdate: false })],
    'module-wireless',
  ),
  cause(
    'module-hardware',
    'module',
    BOTH,
    25,
    'The hardware of the module cannot transmit this generation',
    'What a module transmits is a matter of its hardware; an update neither adds nor removes a generation.',
    does('Update by cable; to fly, bind to a module that has this generation.', 20, POWER),
    [inModuleType({ generations: [1, 2] })],
    'module-hardware',
  ),
  cause(
    'module-generation',
    'setting',
    BOTH,
    80,
    'The module is set for another generation',
    'It transmits what the receiver does not listen for.',
    does('Set the module for the generation of the receiver.', 2, PROPELLER),
    [fault('module-generation')],
    'module-generation',
  ),
  cause(
    'module-band',
    'setting',
    BOTH,
    15,
    'The module is on another band',
    'It transmits where the receiver does not listen.',
    does('Set the module for the band of the receiver.', 2, PROPELLER),
    [inModule({ band: '915MHz' })],
    'module-band',
  ),
  cause(
    'module-region',
    'module',
    BOTH,
    60,
    'Module and receiver are for different regions',
    'One listens before it talks, the other hops without listening: they do not meet.',
    does('Update the receiver by cable with the image for the region of the module.', 20, POWER),
    [inModule({ region: 'hopping' })],
    'module-region',
  ),
  cause(
    'module-too-old',
    'module',
    BOTH,
    70,
    'The firmware of the module is too old for the receiver',
    'They no longer understand each other well enough for an update.',
    does('Update the module first.', 15),
    [fault('module-too-old')],
    'module-firmware',
  ),
  cause(
    'module-too-new',
    'module',
    BOTH,
    60,
    'The firmware of the module is too new for the receiver',
    'The receiver is so far behind that it is not offered by air until it has been updated once by cable.',
    does('Update the receiver once by cable.', 15, POWER),
    [fault('module-too-new')],
    'module-firmware',
  ),
]

const receiverCauses: readonly Cause[] = [
  cause(
    'receiver-not-by-air',
    'receiver',
    AIR,
    30,
    'This type of receiver takes no update by air',
    'Its boot loader knows only the cable.',
    does('Update by cable.', 15, POWER),
    [inReceiverType({ wirelessUpdate: false })],
    'wireless-type',
  ),
  cause(
    'receiver-first-by-cable',
    'receiver',
    AIR,
    90,
    'The receiver is too old to be updated by air yet',
    'A new receiver often carries firmware from before updates by air; the first one goes by cable.',
    does('Update it once by cable.', 15, POWER),
    [inReceiver({ firmware: '1.5.0' })],
    'first-by-cable',
  ),
  cause(
    'slow-settle',
    'receiver',
    BOTH,
    60,
    'The receiver is slow to settle in its boot loader',
    'It says who it is, but the first write goes unheard; a second try finds it ready.',
    does('Leave it in its boot loader, wait, and start the write again.', 2),
    [fault('slow-settle', '3'), fault('slow-settle', '2')],
  ),
  cause(
    'binding-lost',
    'receiver',
    BOTH,
    45,
    'Receiver and module have lost their binding',
    'Neither answers the other by air.',
    does('Bind them again, then set the failsafe anew.', 5, PROPELLER),
    [fault('binding-lost')],
  ),
  cause(
    'antenna-damaged',
    'receiver',
    BOTH,
    18,
    'An antenna of the receiver is damaged or shielded',
    'Its active end is cut, bent around carbon, or its plug has come off: every signal loses most of its strength.',
    does('Seat or replace the antenna; lay its active end straight and free.', 15),
    [fault('antenna-damaged', '30'), fault('antenna-damaged', '45')],
  ),
  cause(
    'telemetry-off',
    'receiver',
    BOTH,
    25,
    'Telemetry is switched off in the receiver',
    'It was set so, or the update has set it back: the receiver flies, but sends nothing.',
    does('Switch telemetry on for this receiver.', 3),
    [inWorld({ telemetrySilent: true })],
  ),
  cause(
    'worn-flash',
    'receiver',
    BOTH,
    8,
    'The flash of the receiver is worn',
    'A cell that was written too often does not take every bit, so what is read back differs.',
    does('Write once more by cable; where it fails again, replace the receiver.', 40, POWER),
    [fault('worn-flash', '2048'), fault('worn-flash', '5000')],
  ),
  cause(
    'receiver-dead',
    'receiver',
    BOTH,
    10,
    'The receiver is destroyed',
    'Its input or its controller broke at some time before; it stays dark whatever feeds it.',
    does('Replace the receiver.', 120, POWER, false),
    [fault('receiver-dead')],
  ),
]

const supplyCauses: readonly Cause[] = [
  cause(
    'supply-missing',
    'supply',
    AIR,
    25,
    'Nothing feeds the receiver',
    'The pack is not plugged in, its switch is off, or it is empty.',
    does('Plug a charged pack of the right voltage in.', 2, POWER),
    [onBench(bench => ({ ...bench, supplies: [] }))],
    'supply-present',
  ),
  cause(
    'supply-too-low',
    'supply',
    AIR,
    20,
    'The supply is below what the receiver needs',
    'It does not come up, or only just.',
    does('Use a charged pack of the right voltage.', 5, POWER),
    [inSupply({ volts: 2.8 })],
    'supply-range',
  ),
  cause(
    'supply-sag',
    'supply',
    BOTH,
    45,
    'The supply gives way under load',
    'A tired pack, thin leads or a poor plug: the voltage falls when the receiver erases and writes.',
    does('Use a charged pack with short, sound leads.', 5, POWER),
    [fault('supply-sag', '22'), fault('supply-sag', '14')],
  ),
  cause(
    'power-lost',
    'supply',
    BOTH,
    25,
    'Power is lost on the way',
    'A switch, a plug or an empty pack lets go in the middle of the write.',
    does('Make the supply sure, and write again by cable.', 8, POWER),
    [fault('power-cut', '1'), fault('power-cut', '1.5')],
  ),
  cause(
    'second-supply',
    'supply',
    CABLE,
    6,
    'Two supplies fed the receiver at once',
    'The stronger drove its current through the weaker, and through the receiver.',
    does('Unplug the pack: the cable feeds the receiver. Replace what was destroyed.', 120, POWER, false),
    [both(inSupply({ volts: 12, internalOhms: 0.02, limitMilliamps: 20_000 }), fault('second-supply'))],
    'one-supply',
  ),
]

const cableCauses: readonly Cause[] = [
  cause(
    'signal-wire-open',
    'cable',
    CABLE,
    60,
    'The signal wire of the cable is broken',
    'The supply comes through, so the receiver lights up, but nobody hears it.',
    does('Use another cable.', 3, POWER),
    [fault('signal-wire-open')],
    'cable-wires',
  ),
  cause(
    'positive-wire-open',
    'cable',
    CABLE,
    30,
    'The positive wire of the cable is broken',
    'Nothing feeds the receiver through the cable.',
    does('Use another cable.', 3, POWER),
    [withoutWire('positive')],
    'supply-present',
  ),
  cause(
    'cable-loose',
    'cable',
    CABLE,
    35,
    'The cable comes loose on the way',
    'The plug does not hold, so signal and supply are gone for a moment.',
    does('Seat the cable again, keyed side to keyed side, and do not move it.', 3, POWER),
    [fault('cable-loose', '1'), fault('cable-loose', '1.5')],
  ),
  cause(
    'line-noise',
    'cable',
    CABLE,
    18,
    'There is noise on the line',
    'A long cable, a charger or a motor near by turns bits over.',
    does('Use a short cable, away from chargers and motors.', 3),
    [fault('line-noise', '0.004'), fault('line-noise', '0.01')],
  ),
  cause(
    'cable-reversed',
    'cable',
    CABLE,
    4,
    'The supply is reversed in the cable',
    'Positive met negative, and destroyed the receiver at once.',
    does('Destroy the cable, so that nobody uses it again. Replace the receiver.', 120, POWER, false),
    [fault('reversed-cable')],
    'supply-polarity',
  ),
  cause(
    'chatty-sensor',
    'sensor',
    CABLE,
    70,
    'A sensor goes on talking on the telemetry bus',
    'It talks over the receiver, so the first writes go wrong.',
    does('Unplug the sensors from the telemetry bus.', 2),
    [fault('chatty-sensor', '6'), fault('chatty-sensor', '20')],
  ),
]

const airCauses: readonly Cause[] = [
  cause(
    'out-of-range',
    'air',
    AIR,
    12,
    'The receiver is too far away',
    'Too little of the signal reaches it.',
    does('Bring it within a few metres.', 2),
    [fault('out-of-range', '4000')],
    'near-enough',
  ),
  cause(
    'too-close',
    'air',
    AIR,
    30,
    'The receiver is too close to the antenna',
    'Its input is overloaded, as an ear is by a shout.',
    does('Move it a metre or two away.', 1),
    [fault('too-close', '0.03')],
    'not-too-close',
  ),
  cause(
    'interference',
    'air',
    BOTH,
    20,
    'Somebody else fills the air',
    'Other transmitters take so many of the slots that too little gets through.',
    does('Go somewhere else, or wait until they are off.', 15),
    [fault('interference', '97'), fault('interference', '85')],
  ),
]

/** All causes there are, each with what it changes on a table. */
export const CAUSES: readonly Cause[] = [
  ...cardCauses,
  ...radioCauses,
  ...imageCauses,
  ...moduleCauses,
  ...supplyCauses,
  ...cableCauses,
  ...airCauses,
  ...receiverCauses,
]

export const findCause = (id: string): Cause | undefined => CAUSES.find(one => one.id === id)
