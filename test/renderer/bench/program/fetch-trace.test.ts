import { describe, expect, it } from 'vitest'
import { LiveTrace } from '../../../../main/serial/live-trace.ts'
import { fetchTrace } from '../../../../renderer/bench/program/fetch-trace.ts'
import { TraceSoFar } from '../../../../shared/sim/trace-so-far.ts'

const settings = { baud: 115_200, parity: 'none', stopBits: 1 } as const

/** A machine with one lane, and what it was asked. */
function machine(live: () => LiveTrace | undefined) {
  const asked: unknown[] = []
  const call = async (_: string, { after }: { after: Parameters<LiveTrace['piece']>[1] }) => {
    asked.push(after)
    return { piece: live()?.piece('session', after, 9000) ?? null }
  }
  return { asked, client: { call } as unknown as Parameters<typeof fetchTrace>[0] }
}

describe('fetching what went over a line', () => {
  it('takes piece after piece, and the next time only what is new', async () => {
    const live = new LiveTrace({ label: 'p', settings, latencyMs: 0, startedAtMs: 0 })
    live.heard(new Uint8Array(200_000).fill(3), 1)
    const { asked, client } = machine(() => live)
    const soFar = new TraceSoFar()
    expect(await fetchTrace(client, 'lane-1', soFar)).toBe(true)
    expect(asked.length).toBe(4)
    live.sent(Uint8Array.of(1, 2, 3), 8000)
    expect(await fetchTrace(client, 'lane-1', soFar)).toBe(true)
    expect(asked.slice(4)).toEqual([expect.objectContaining({ of: 'session', octets: 200_000 })])
    expect(soFar.whole().lanes[0].octets.length).toBe(200_003)
  })

  it('has nothing before the port is open, and stops where nobody looks any more', async () => {
    const { asked, client } = machine(() => undefined)
    expect(await fetchTrace(client, 'lane-1', new TraceSoFar())).toBe(false)
    await fetchTrace(client, 'lane-1', new TraceSoFar(), () => false)
    expect(asked).toEqual([null])
  })
})
