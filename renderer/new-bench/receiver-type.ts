import { sayAddress } from '../../shared/image/segments.ts'
import type { ReceiverType } from '../../shared/model/catalogue.ts'
import type { Band } from '../../shared/model/units.ts'
import { type Answers, readName, readVolts } from './answers.ts'
import type { Ledger } from './assumed.ts'
import { guessFlash, PAGE_BYTES } from './flash-size.ts'

export const CONNECTOR_ID = 'three-pin'
export const FAMILY = 'Own link, name not known'

/** Common values of small receivers; common practice, no source. */
const COMMON = {
  leastVolts: 4,
  mostVolts: 10,
  brownOutVolts: 3.4,
  restartVolts: 3.7,
  settleMs: 120,
  listenMs: 400,
  baud: 115_200,
  channels: 6,
} as const

/** An id from a name: lower case letters, digits and hyphens. */
export function idFrom(name: string, fallback: string): string {
  const id = name
    .normalize('NFKD')
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .slice(0, 48)
    .replace(/^-+|-+$/g, '')
  return id === '' ? fallback : id
}

/** The type of the person's receiver: what was answered, and common values for the rest, all of them written down. */
export function receiverTypeFrom(answers: Answers, bands: Band[], ledger: Ledger): ReceiverType {
  const name = readName(answers.receiverName)
  const maker = readName(answers.receiverMaker)
  if (name === undefined) ledger.leaveOpen('receiver', 'Name of the type')
  if (maker === undefined) ledger.leaveOpen('receiver', 'Maker')
  const nativeGeneration = ledger.orOpen(answers.generation, 'receiver', 'Link generation')
  const flash = flashFrom(answers, ledger)
  const supply = supplyFrom(answers, ledger)
  assumeTheRest(ledger)
  return {
    id: idFrom(`${maker ?? ''} ${name ?? ''}`, 'own-receiver'),
    maker: maker ?? 'Maker not known',
    name: name ?? 'Receiver',
    note: ledger.note('receiver'),
    family: FAMILY,
    bands,
    nativeGeneration,
    conversions: [],
    hardwareRevisions: [],
    wirelessUpdate: ledger.orOpen<boolean>(undefined, 'receiver', 'Whether it takes updates by air'),
    channels: COMMON.channels,
    flash,
    boot: {
      settleMs: COMMON.settleMs,
      listenMs: COMMON.listenMs,
      version: ledger.orOpen<string>(undefined, 'receiver', 'Version of its boot loader'),
      protected: ledger.orOpen<boolean>(undefined, 'receiver', 'Whether its boot loader is protected'),
    },
    bus: {
      baud: COMMON.baud,
      inverted: ledger.orOpen<boolean>(undefined, 'receiver', 'Whether its line is inverted'),
      signalVolts: 3.3,
      turnaroundMicros: 200,
    },
    connectorId: CONNECTOR_ID,
    supply,
    draw: { idleMilliamps: 70, bootMilliamps: 45, flashMilliamps: 35, radioMilliamps: 40 },
    air: { sensitivityDbm: -99, overloadDbm: -10, antennaGainDbi: 0 },
    source: { text: 'Answers to the questions of a new bench, and common values.' },
  }
}

function flashFrom({ image }: Answers, ledger: Ledger): ReceiverType['flash'] {
  const { programAddress, programBytes, outsideBytes } = guessFlash(image?.inspected.segments ?? [])
  const from =
    image === null || image === undefined
      ? 'there is no image to judge by'
      : image.inspected.format === 'raw'
        ? 'from the size of your image, rounded up; a raw image does not say where it begins'
        : 'from the addresses in your image, rounded up'
  ledger.assume(
    'receiver',
    'Program flash',
    `${programBytes / 1024} KiB from address ${sayAddress(programAddress)}, in pages of ${PAGE_BYTES / 1024} KiB`,
    from,
  )
  if (outsideBytes > 0)
    ledger.assume(
      'receiver',
      'Pieces far from the rest of the image',
      `${outsideBytes} octets, not for program flash`,
      'the rehearsal asks whether to leave them out',
    )
  ledger.assume(
    'receiver',
    'Flash times',
    '20 to 40 ms to erase a page, 40 to 70 µs to write a word',
    'ST DS5319',
  )
  return {
    programAddress,
    programBytes,
    pageBytes: PAGE_BYTES,
    wordBytes: 2,
    eraseMs: { least: 20, most: 40 },
    programMicros: { least: 40, most: 70 },
    enduranceCycles: 10_000,
  }
}

/** The limits on the label; where one is missing, the common one, moved where the known one leaves it no room. */
function supplyFrom(answers: Answers, ledger: Ledger): ReceiverType['supply'] {
  const least = readVolts(answers.labelLeastVolts)
  const written = readVolts(answers.labelMostVolts)
  const most = written !== undefined && written < (least ?? 0) ? undefined : written
  const leastVolts = least ?? Math.min(COMMON.leastVolts, most ?? COMMON.leastVolts)
  const mostVolts = most ?? Math.max(COMMON.mostVolts, least ?? COMMON.mostVolts)
  const readTheLabel = 'read the label on the receiver before you connect anything'
  if (least === undefined && most === undefined)
    ledger.assume('receiver', 'Supply', `${leastVolts} to ${mostVolts} V`, readTheLabel)
  else if (least === undefined) ledger.assume('receiver', 'Least supply', `${leastVolts} V`, readTheLabel)
  else if (most === undefined) ledger.assume('receiver', 'Highest supply', `${mostVolts} V`, readTheLabel)
  const round = (volts: number) => Math.round(volts * 100) / 100
  const brownOutVolts = round(Math.min(COMMON.brownOutVolts, leastVolts * 0.85))
  const restartVolts = round(Math.min(COMMON.restartVolts, leastVolts * 0.92))
  ledger.assume('receiver', 'Resets', `below ${brownOutVolts} V, starts again from ${restartVolts} V`)
  return { leastVolts, mostVolts, brownOutVolts, restartVolts }
}

function assumeTheRest(ledger: Ledger): void {
  ledger.assume('receiver', 'Update line', `${COMMON.baud} baud, 3.3 V`)
  ledger.assume(
    'receiver',
    'Boot loader',
    `listens for ${COMMON.listenMs} ms after power-on, takes a write ${COMMON.settleMs} ms later`,
  )
  ledger.assume('receiver', 'Current', '70 mA running, 45 mA in its boot loader, 35 mA more while it writes')
  ledger.assume('receiver', 'Plug', 'three pins: signal, positive, negative')
  ledger.assume('receiver', 'Outputs', `${COMMON.channels}`)
  ledger.assume('receiver', 'Radio input', 'hears from −99 dBm, is overloaded from −10 dBm')
}
