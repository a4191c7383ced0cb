import semver from 'semver'
import { linkMarginDb, receivedDbm, WANTED_MARGIN_DB } from '../air/path.ts'
import { clustersFor, folderClusters } from '../card/clusters.ts'
import { isKnown } from '../model/units.ts'
import { linkEndsOf } from './link-ends.ts'
import {
  broken,
  type Check,
  COMMON_PRACTICE,
  evidence,
  holds,
  notKnown,
  type Remedy,
  type Rule,
  withUnit,
} from './rule.ts'
import { supplyRules } from './rules-supply.ts'
import type { Situation } from './situation.ts'

/** Rules about the table: radio, card and distance; supply and cable are in a file of their own. */

const volts = (v: number) => `${v.toFixed(1)} V`

const radioBattery: Rule = {
  id: 'radio-battery',
  claim: 'The radio has enough battery for an update.',
  source: COMMON_PRACTICE,
  severity: 'block',
  enforcedBy: 'radio',
  applies: s => s.radio !== undefined && s.radioType !== undefined,
  check: s => {
    const have = s.radio?.batteryVolts ?? 0
    const need = s.radioType?.battery.updateMinVolts ?? 'unknown'
    const shown = [
      evidence('Battery', volts(have)),
      evidence('Needs', isKnown(need) ? volts(need) : 'unknown'),
    ]
    if (!isKnown(need)) return notKnown('From which voltage this radio starts an update is not known.', shown)
    return have >= need
      ? holds(`The battery has ${volts(have)}.`, shown)
      : broken(`The battery has ${volts(have)}; the radio starts an update from ${volts(need)}.`, shown, [
          {
            id: 'charge-radio',
            label: 'Charge the radio.',
            apply: bench =>
              withUnit(bench, 'radios', s.radio?.id, {
                batteryVolts: Math.max(need, (s.radioType?.battery.fullVolts ?? need) - 0.2),
              }),
            minutes: 90,
            reversible: true,
          },
        ])
  },
}

const radioSystem: Rule = {
  id: 'radio-system',
  claim: "The radio's own system is new enough for the image.",
  source: 'RFC 9124, dependencies',
  severity: 'block',
  enforcedBy: 'radio',
  looksAt: ['radioSystem'],
  applies: s => s.image?.radioSystem !== undefined,
  check: s => {
    const range = s.image?.radioSystem ?? '*'
    const have = s.radio?.systemVersion ?? 'unknown'
    const shown = [evidence('Radio system', have), evidence('Image needs', range)]
    if (!isKnown(have)) return notKnown('The version of the radio system is not known.', shown)
    return semver.satisfies(have, range, { includePrerelease: true })
      ? holds(`Radio system ${have} will do.`, shown)
      : broken(`The image needs radio system ${range}; this radio has ${have}.`, shown, [
          {
            id: 'update-radio-system',
            label: `Update the radio's system to ${range}.`,
            apply: bench =>
              withUnit(bench, 'radios', s.radio?.id, {
                systemVersion: semver.minVersion(range)?.version ?? have,
              }),
            minutes: 30,
            reversible: true,
          },
        ])
  },
}

/** A card of the bench that no radio has, or a new one of a size that anybody can buy. */
const putCardIn = (radioId: string): Remedy => ({
  id: 'put-card-in',
  label: 'Put a card in the radio.',
  apply: bench => {
    const spare = bench.cards.find(c => !c.readOnly && !bench.radios.some(r => r.cardId === c.id))
    const card = spare ?? {
      id: `card-for-${radioId}`,
      nickname: 'New card',
      capacityBytes: 8_000_000_000,
      freeBytes: 7_900_000_000,
      clusterBytes: 4096,
      readOnly: false,
      writeBytesPerSecond: 2_000_000,
      folder: 'IMAGES',
    }
    const cards = spare ? bench.cards : [...bench.cards.filter(c => c.id !== card.id), card]
    return withUnit({ ...bench, cards }, 'radios', radioId, { cardId: card.id })
  },
  minutes: 2,
  reversible: true,
})

const cardPresent: Rule = {
  id: 'card-present',
  claim: 'There is a card in the radio that can be written.',
  source: COMMON_PRACTICE,
  severity: 'block',
  enforcedBy: 'card',
  applies: () => true,
  check: s => {
    const shown = [
      evidence('Card', s.card?.nickname ?? 'none'),
      evidence('Read only', s.card?.readOnly ?? 'unknown'),
    ]
    if (s.card === undefined)
      return broken('There is no card in the radio.', shown, s.radio ? [putCardIn(s.radio.id)] : [])
    if (!s.card.readOnly) return holds(`${s.card.nickname} can be written.`, shown)
    return broken('The card is read only: look at the slide on its edge.', shown, [
      {
        id: 'unlock-card',
        label: 'Unlock the card.',
        apply: bench => withUnit(bench, 'cards', s.card?.id, { readOnly: false }),
        minutes: 1,
        reversible: true,
      },
    ])
  },
}

/** Image cards are shorter than this, with room for notes. */
const SIDECAR_BYTES = 4096

/** Names as long as those that images get, for the room that they take in the folder. */
const NAMES = ['a-maker-and-type-2.4.0.image', 'a-maker-and-type-2.4.0.card.json']

/** What an image takes on the card: whole clusters, for the image, its image card and a new folder. */
export const clustersNeeded = (bytes: number, clusterBytes: number): number =>
  clustersFor(bytes, clusterBytes) +
  clustersFor(SIDECAR_BYTES, clusterBytes) +
  folderClusters(NAMES, clusterBytes)

const cardRoom: Rule = {
  id: 'card-room',
  claim: 'The card has room for the image.',
  source: 'arithmetic, whole clusters',
  severity: 'block',
  enforcedBy: 'card',
  looksAt: ['sizeBytes'],
  applies: s => s.card !== undefined && s.image !== undefined,
  check: s => {
    const { clusterBytes, freeBytes } = s.card ?? { clusterBytes: 4096, freeBytes: 0 }
    const needBytes = clustersNeeded(s.image?.sizeBytes ?? 0, clusterBytes) * clusterBytes
    const shown = [
      evidence('Free', `${Math.floor(freeBytes / 1024)} KiB`),
      evidence('Needed', `${Math.ceil(needBytes / 1024)} KiB`),
    ]
    return freeBytes >= needBytes
      ? holds('The card has room for the image.', shown)
      : broken(
          `The card has ${Math.floor(freeBytes / 1024)} KiB free; ${Math.ceil(needBytes / 1024)} KiB are needed.`,
          shown,
          [
            {
              id: 'make-room',
              label: 'Make room on the card.',
              apply: bench =>
                withUnit(bench, 'cards', s.card?.id, { freeBytes: Math.max(freeBytes, needBytes * 4) }),
              minutes: 5,
              reversible: false,
            },
          ],
        )
  },
}

const atDistance = (metres: number): Remedy => ({
  id: 'set-distance',
  label: `Put the receiver about ${metres} m from the radio.`,
  apply: bench => ({ ...bench, wiring: { ...bench.wiring, distanceMetres: metres } }),
  minutes: 2,
  reversible: true,
})

function rangeRule(
  id: 'near-enough' | 'not-too-close',
  claim: string,
  check: (s: Situation, dbm: number, marginDb: number) => Check,
): Rule {
  return {
    id,
    claim,
    source: 'ITU-R P.525',
    severity: 'warn',
    enforcedBy: 'physics',
    applies: s => s.route === 'wireless' && linkEndsOf(s) !== undefined,
    check: s => {
      const ends = linkEndsOf(s)
      if (ends === undefined) throw new Error(`rule ${id} was asked without a module`)
      return check(s, receivedDbm(ends), linkMarginDb(ends))
    },
  }
}

const nearEnough = rangeRule('near-enough', 'The receiver is near enough.', (s, dbm, marginDb) => {
  const shown = [
    evidence('Distance', `${s.wiring.distanceMetres} m`),
    evidence('Signal', `${dbm.toFixed(0)} dBm`),
    evidence('Margin', `${marginDb.toFixed(0)} dB`),
  ]
  return marginDb >= WANTED_MARGIN_DB
    ? holds(`The signal has ${marginDb.toFixed(0)} dB in hand.`, shown)
    : broken(`The signal has only ${marginDb.toFixed(0)} dB in hand.`, shown, [atDistance(2)])
})

const notTooClose = rangeRule('not-too-close', 'The receiver is not too close to the antenna.', (s, dbm) => {
  const { overloadDbm } = s.receiverType.air
  const shown = [
    evidence('Distance', `${s.wiring.distanceMetres} m`),
    evidence('Signal', `${dbm.toFixed(0)} dBm`),
    evidence('Overloaded from', `${overloadDbm} dBm`),
  ]
  return dbm < overloadDbm
    ? holds('The input of the receiver is not overloaded.', shown)
    : broken('The receiver is so close that its input is overloaded.', shown, [atDistance(2)])
})

export const benchRules: readonly Rule[] = [
  cardPresent,
  cardRoom,
  radioBattery,
  radioSystem,
  ...supplyRules,
  nearEnough,
  notTooClose,
]
