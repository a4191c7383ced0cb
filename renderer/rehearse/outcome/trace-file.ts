import type { RehearsalReport } from '../../../shared/rehearse/report.ts'
import type { Lane, Trace } from '../../../shared/sim/trace.ts'
import { hexOf } from '../../../shared/wire/decode-lane.ts'

/** The trace as readable JSON: one line a burst, octets in hexadecimal, times in nanoseconds since the start. */
export function writeTrace(report: RehearsalReport, trace: Trace): string {
  const head = {
    format: 'preflash-trace',
    formatVersion: 1,
    rehearsal: true,
    receiver: report.receiver.nickname,
    image: report.image,
    route: report.route,
    seed: report.seed,
    faults: report.faults,
    endNs: trace.endNs,
  }
  const lines = Object.entries(head).map(
    ([key, value]) => `  ${JSON.stringify(key)}: ${JSON.stringify(value)},`,
  )
  return [
    '{',
    ...lines,
    list('phases', trace.phases),
    list('events', trace.events),
    list('devices', trace.devices),
    list('flash', [...flashRows(trace)]),
    list('supply', [...supplyRows(trace)]),
    list('lanes', trace.lanes.map(aboutLane)),
    `  "bursts": {\n${trace.lanes.map(lane => `  ${list(lane.id, [...burstRows(lane)]).replace(/,$/, '')}`).join(',\n')}\n  }`,
    '}',
    '',
  ].join('\n')
}

const list = (name: string, rows: readonly unknown[]): string =>
  rows.length === 0
    ? `  ${JSON.stringify(name)}: [],`
    : `  ${JSON.stringify(name)}: [\n${rows.map(row => `    ${JSON.stringify(row)}`).join(',\n')}\n  ],`

const aboutLane = ({ id, label, baud, bitsPerCharacter, parity, talkers }: Lane) => ({
  id,
  label,
  baud,
  bitsPerCharacter,
  parity,
  talkers,
})

function* burstRows(lane: Lane) {
  for (let i = 0; i < lane.burstCount; i++) {
    const first = lane.firstOctet[i]
    yield {
      startNs: lane.startNs[i],
      from: lane.talkers[lane.talker[i]],
      flags: lane.flags[i],
      octets: hexOf(lane.octets.subarray(first, first + lane.octetCount[i])),
    }
  }
}

function* flashRows({ flash }: Trace) {
  for (let i = 0; i < flash.count; i++)
    yield {
      startNs: flash.startNs[i],
      endNs: flash.endNs[i],
      kind: flash.kind[i],
      offset: flash.offset[i],
      bytes: flash.bytes[i],
      torn: flash.torn[i] === 1,
    }
}

function* supplyRows({ supply }: Trace) {
  for (let i = 0; i < supply.count; i++)
    yield {
      atNs: supply.atNs[i],
      volts: Number(supply.volts[i].toFixed(3)),
      milliamps: Number(supply.milliamps[i].toFixed(1)),
    }
}
