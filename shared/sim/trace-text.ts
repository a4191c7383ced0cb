import { FLASH_OP, type Lane, type Trace } from './trace.ts'

/**
 * A trace as text, one JSON value a line: what was on the lines, what flash did, what the supply did, what was said.
 * The same session gives the same text, octet for octet.
 */
const hex = (octets: Uint8Array, from: number, to: number): string => {
  let text = ''
  for (let i = from; i < to; i++) text += OCTETS[octets[i]]
  return text
}
const OCTETS = Array.from({ length: 256 }, (_, i) => i.toString(16).padStart(2, '0'))
const OP_NAMES = Object.fromEntries(Object.entries(FLASH_OP).map(([name, value]) => [value, name]))

/** @returns lines ending in a line feed; times in nanoseconds since the session began */
export function traceText(trace: Trace): string {
  const lines: string[] = [JSON.stringify({ preflashTrace: 1, simulated: true, endNs: trace.endNs })]
  for (const lane of trace.lanes) lines.push(...laneLines(lane))
  const { flash, supply } = trace
  for (let i = 0; i < flash.count; i++)
    lines.push(
      JSON.stringify({
        flash: OP_NAMES[flash.kind[i]],
        atNs: flash.startNs[i],
        endNs: flash.endNs[i],
        offset: flash.offset[i],
        bytes: flash.bytes[i],
        ...(flash.torn[i] ? { torn: true } : {}),
      }),
    )
  for (let i = 0; i < supply.count; i++)
    lines.push(
      `{"supply":${supply.volts[i].toFixed(4)},"milliamps":${supply.milliamps[i].toFixed(2)},"atNs":${supply.atNs[i]}}`,
    )
  for (const { atNs, event } of trace.events) lines.push(JSON.stringify({ atNs, event }))
  for (const change of trace.devices) lines.push(JSON.stringify(change))
  return `${lines.join('\n')}\n`
}

function laneLines(lane: Lane): string[] {
  const { id, label, baud, bitsPerCharacter, parity, talkers } = lane
  const lines = [JSON.stringify({ lane: id, label, baud, bitsPerCharacter, parity, talkers })]
  for (let i = 0; i < lane.burstCount; i++) {
    const from = lane.firstOctet[i]
    const flags = lane.flags[i] ? `,"flags":${lane.flags[i]}` : ''
    lines.push(
      `{"lane":"${id}","atNs":${lane.startNs[i]},"by":${lane.talker[i]}${flags},"octets":"${hex(lane.octets, from, from + lane.octetCount[i])}"}`,
    )
  }
  for (const heard of lane.heard)
    lines.push(
      `{"lane":"${id}","heardAtNs":${heard.atNs},"framingErrors":${heard.framingErrors},"octets":"${hex(heard.octets, 0, heard.octets.length)}"}`,
    )
  return lines
}
