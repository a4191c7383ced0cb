import { isKnown } from '../model/units.ts'
import { sumMs } from './durations.ts'
import type { Step } from './schema.ts'
import {
  cautionOf,
  isFedThroughCable,
  minutes,
  notSo,
  plugOf,
  radioFirst,
  radioName,
  receiverName,
  type Subject,
  sees,
  socketOf,
  step,
  volts,
} from './subject.ts'

/** Everything before the update is started: prepare, card, cable, power. Common practice, no source. */
export const stepsBefore = (of: Subject): Step[] =>
  of.s.route === 'cable'
    ? [
        drive(of),
        radioCharged(of),
        // Plugs are pulled without power.
        cableSupply(of),
        ...(of.sensors.length > 0 ? [sensorsOff(of)] : []),
        cardFiles(of),
        cardIn(of),
        cablePlugged(of),
        radioOn(of),
        ...(isFedThroughCable(of) ? [] : [receiverOn(of)]),
      ]
    : [
        drive(of),
        radioCharged(of),
        airSupply(of),
        othersOff(of),
        distance(of),
        cardFiles(of),
        cardIn(of),
        radioOn(of),
        moduleOn(of),
        receiverOn(of),
      ]

function drive(of: Subject): Step {
  const { model } = of.s
  const where = model === undefined ? receiverName(of) : model.name
  const hasPropeller = model?.propellerOrRotor !== false
  return step({
    id: 'drive',
    part: 'prepare',
    text:
      model === undefined
        ? `${where}: see that nothing hangs on its outputs that can start up or hurt anybody.`
        : hasPropeller
          ? `${where}: take the propeller or rotor off, and disconnect the drive.`
          : `${where}: disconnect the drive.`,
    expect:
      model === undefined
        ? 'Nothing that can turn or move is plugged into the receiver.'
        : hasPropeller
          ? 'The propeller or rotor lies on the table, and the leads of the drive are apart.'
          : 'The leads of the drive are apart.',
    caution: cautionOf(of, 'drive'),
    sure: 'Pull at the leads: what should be apart must be lying apart. A switch that is off is not enough.',
    handsMs: minutes(2),
    others: [notSo('The drive cannot be disconnected.')],
  })
}

function radioCharged(of: Subject): Step {
  const battery = of.s.radioType?.battery
  const least = battery !== undefined && isKnown(battery.updateMinVolts) ? battery.updateMinVolts : undefined
  return step({
    id: 'radio-charged',
    part: 'prepare',
    text: `Switch ${radioName(of)} on, look at its battery, and switch it off again.`,
    expect:
      least === undefined
        ? 'The battery is well charged.'
        : `It shows ${volts(least)} or more, better a full charge.`,
    sure: 'The voltage stands on the first screen of most radios.',
    handsMs: minutes(1),
    facts: { 'radio-battery': 'yes' },
    others: [sees('It shows less than that.', undefined, { 'radio-battery': 'no' })],
  })
}

const sensorsOff = (of: Subject): Step =>
  step({
    id: 'sensors-off',
    part: 'prepare',
    text: `Unplug the sensors from the receiver: ${of.sensors.map(sensor => sensor.nickname).join(', ')}.`,
    expect: 'Nothing but the update can talk on the bus: no sensor is plugged in.',
    sure: 'Follow each lead from the telemetry socket of the receiver to its end.',
    handsMs: minutes(2),
    facts: { 'line-quiet': 'yes' },
    others: [notSo('A sensor cannot be reached.')],
  })

function cableSupply(of: Subject): Step {
  const { supply, receiverType } = of.s
  const { leastVolts, mostVolts } = receiverType.supply
  if (isFedThroughCable(of))
    return step({
      id: 'supply',
      part: 'prepare',
      text: 'Unplug every pack and every regulator from the receiver. The radio will feed it through the cable.',
      expect: 'Nothing that gives power is plugged into the receiver.',
      caution: cautionOf(of, 'one-supply'),
      sure: 'A speed controller can feed the receiver too: its lead has to be out.',
      handsMs: minutes(1),
      facts: { 'one-supply': 'yes' },
      others: [notSo('Something still feeds the receiver.')],
    })
  return step({
    id: 'supply',
    part: 'prepare',
    text: `Have ${supply?.nickname ?? 'the supply of the receiver'} ready, charged, and leave it unplugged for now.`,
    expect: `It gives between ${volts(leastVolts)} and ${volts(mostVolts)}, and the receiver is without power.`,
    caution: cautionOf(of, 'supply'),
    sure: 'Measure at the plug with a multimeter, positive against negative.',
    handsMs: minutes(2),
    others: [sees('It gives more, less, or the other way round.', undefined, { 'supply-range': 'no' })],
  })
}

function airSupply(of: Subject): Step {
  const { supply, receiverType, model } = of.s
  const { leastVolts, mostVolts } = receiverType.supply
  const name = supply?.nickname ?? 'a charged supply'
  return step({
    id: 'supply',
    part: 'prepare',
    text:
      model === undefined
        ? `Feed the receiver from ${name}. Leave it switched off for now.`
        : `The receiver can stay in ${model.name}. It is fed by ${name}: charged, plugged in, and switched off for now.`,
    expect: `It gives between ${volts(leastVolts)} and ${volts(mostVolts)}, for the receiver and for the servos that hang on it.`,
    caution: cautionOf(of, 'supply'),
    sure: 'Measure at a free output with a multimeter, or at the plug of the pack.',
    handsMs: minutes(2),
    others: [sees('It gives more, less, or the other way round.', undefined, { 'supply-range': 'no' })],
  })
}

const othersOff = (of: Subject): Step =>
  step({
    id: 'others-off',
    part: 'prepare',
    text: `Switch everything else off that transmits near here: other radios, their modules, video, phones that share their link. Only ${radioName(of)} is needed.`,
    expect: 'Nothing but that one radio will transmit.',
    sure: 'Ask the people around you. A second module in the same radio counts too.',
    handsMs: minutes(1),
    facts: { 'air-free': 'yes' },
    others: [sees('Something goes on transmitting.', undefined, { 'air-free': 'no' })],
  })

function distance(of: Subject): Step {
  const metres = of.s.wiring.distanceMetres
  const { model } = of.s
  return step({
    id: 'distance',
    part: 'prepare',
    text: `Put ${model?.name ?? receiverName(of)} about ${metres} m from ${radioName(of)}, where nobody has to move it.`,
    expect: 'More than half a metre lies between the antennas, and nothing of metal.',
    sure: 'One long step is about a metre.',
    handsMs: minutes(1),
    facts: { 'near-enough': 'yes', 'not-too-close': 'yes' },
    others: [notSo('It cannot stand like that.')],
  })
}

const cardFiles = (of: Subject): Step =>
  step({
    id: 'card-files',
    part: 'card',
    text: `Put the card into the computer. In the Firmware view, put ${of.image.name} on it and let it be read back.`,
    expect: `The view says that the card is proven: ${of.files[0]} and ${of.files[1]} are on it.`,
    sure: 'In the Firmware view, “What is on the card?” reads it again and compares.',
    rehearsedMs: sumMs(of.times.card),
    handsMs: minutes(2),
    phases: [...of.times.card],
    facts: { 'image-passes': 'yes' },
    others: [notSo('The computer cannot write the card, or reads something else back.')],
  })

const cardIn = (of: Subject): Step =>
  step({
    id: 'card-in',
    part: 'card',
    text: `Eject the card on the computer, and push it into ${radioName(of)} while the radio is off.`,
    expect: 'It sits all the way in. The slide on its edge is not on “lock”.',
    sure: 'Take it out and push it in once more, until it clicks or stops.',
    handsMs: minutes(1),
    facts: { 'card-present': 'yes' },
    others: [notSo('It does not go in or does not stay in.')],
  })

function cablePlugged(of: Subject): Step {
  const { cable } = of.s
  const [plug, socket] = [plugOf(of), socketOf(of)]
  const isKeyed = plug?.keyed === true && socket?.keyed === true
  const pins = plug?.pins.map(pin => pin.name).join(', ')
  return step({
    id: 'cable',
    part: 'connect',
    text: `Radio off, receiver without power. Plug ${cable?.nickname ?? 'the update cable'} into the update port of ${radioName(of)}, then into the receiver${plug === undefined ? '' : ` (${plug.name})`}.`,
    expect: `${
      isKeyed
        ? 'Both plugs went in without force, key to key.'
        : 'Both plugs sit the right way round: negative meets negative on both ends.'
    }${pins === undefined ? '' : ` With the key up the pins are ${pins}.`}`,
    caution: cautionOf(of, 'supply'),
    sure: isKeyed
      ? 'Pull both plugs, look for the key on plug and socket, and plug them in again. Never force one.'
      : 'These plugs go in both ways round. Compare each wire with the marks beside the socket before anything is switched on.',
    handsMs: minutes(2),
    others: [notSo('A plug does not fit, or the order of the wires differs.')],
  })
}

const radioOn = (of: Subject): Step =>
  step({
    id: 'radio-on',
    part: 'power',
    text: `Switch ${radioName(of)} on${of.s.model === undefined ? '' : `, choose the model for ${of.s.model.name}`}, and look at the files on its card.`,
    expect: `${radioFirst(of)} shows ${of.files[0]}.`,
    sure: 'The folder and the name must be the same, letter by letter.',
    handsMs: minutes(1),
    facts: { 'card-seen': 'yes' },
    others: [
      sees('It does not see the card, or the file is not there.', 'card-not-seen', { 'card-seen': 'no' }),
      notSo('It does not start, or shows a warning.'),
    ],
  })

function moduleOn(of: Subject): Step {
  const { module } = of.s
  const generation = module !== undefined && isKnown(module.generation) ? module.generation : undefined
  return step({
    id: 'module-on',
    part: 'power',
    text: `On the radio, see that ${module?.nickname ?? 'the module that the receiver is bound to'} is on for this model, and every other module is off.`,
    expect: `That one module is on${generation === undefined ? '' : `, and set for generation ${generation}`}.`,
    sure: 'The light on the module, and what the radio shows of its modules.',
    handsMs: minutes(1),
    facts: { 'module-present': 'yes', 'module-on': 'yes' },
    others: [
      sees('It cannot be switched on.', 'not-offered', { 'module-on': 'no' }),
      sees('The module is not in this radio.', 'not-offered', { 'module-present': 'no' }),
    ],
  })
}

function receiverOn(of: Subject): Step {
  const isByAir = of.s.route === 'wireless'
  return step({
    id: 'receiver-on',
    part: 'power',
    text: `Now, after the radio, give the receiver power: ${of.s.supply?.nickname ?? 'its own supply'}.`,
    expect: isByAir
      ? 'A light comes on at the receiver, and it shows that it is bound.'
      : 'A light comes on at the receiver.',
    caution: cautionOf(of, 'drive'),
    sure: isByAir
      ? 'Where the receiver cannot be seen in the model: move a stick, and watch whether a servo follows.'
      : 'Look from above; some lights are faint in the sun.',
    handsMs: minutes(1),
    facts: {
      'supply-present': 'yes',
      'receiver-light': 'yes',
      ...(isByAir ? { 'bound-light': 'yes' as const } : {}),
    },
    others: [
      sees('It stays dark.', 'dead', { 'receiver-light': 'no' }),
      ...(isByAir
        ? [
            sees('It has a light, but is not bound.', 'not-found', {
              'receiver-light': 'yes',
              'bound-light': 'no',
            }),
          ]
        : []),
    ],
  })
}
