import type { Trace } from '../../../shared/sim/trace.ts'

/** More than an exchange that somebody reads; the rest of a whole image says nothing new. */
export const MOST_TURNS = 400
const MOST_OCTETS_A_TURN = 4096

/** Who speaks for the workbench in the trace of a real port. */
const WORKBENCH = 'bench'

/**
 * What went over a real line as an exchange to test a dialect with, in order of time: `→ 7F` and `← 79` by turns.
 * @returns at most `MOST_TURNS` turns; empty where nothing was said
 */
export function exchangeOf({ lanes }: Pick<Trace, 'lanes'>): string {
  const bursts = lanes.flatMap(lane =>
    Array.from({ length: lane.burstCount }, (_, i) => {
      const from = lane.firstOctet[i]
      const octets = lane.octets.subarray(from, from + Math.min(lane.octetCount[i], MOST_OCTETS_A_TURN))
      return { atNs: lane.startNs[i], isOurs: lane.talkers[lane.talker[i]] === WORKBENCH, octets }
    }),
  )
  bursts.sort((a, b) => a.atNs - b.atNs)
  const turns: { isOurs: boolean; hex: string[] }[] = []
  for (const { isOurs, octets } of bursts) {
    const hex = Array.from(octets, octet => octet.toString(16).toUpperCase().padStart(2, '0'))
    const last = turns.at(-1)
    if (last?.isOurs === isOurs) last.hex.push(...hex)
    else if (turns.length < MOST_TURNS) turns.push({ isOurs, hex })
    else break
  }
  return turns.map(({ isOurs, hex }) => `${isOurs ? '→' : '←'} ${hex.join(' ')}\n`).join('')
}
