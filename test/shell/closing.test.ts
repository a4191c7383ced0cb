import { describe, expect, it } from 'vitest'
import { mayClose } from '../../main/shell/closing.ts'

type Writing = Parameters<typeof mayClose>[0]
type Lane = Awaited<ReturnType<Writing['write.lanes']>>['lanes'][number]

/** Lanes that end so many looks after they were cancelled. */
function writing(count: number, endsAfterLooks: number) {
  const cancelled: string[] = []
  let looks = 0
  const handlers = {
    'write.lanes': () => {
      if (cancelled.length > 0) looks++
      const end = looks > endsAfterLooks ? ({ outcome: 'cancelled' } as Lane['end']) : null
      const lane = (i: number) => ({ lane: `l${i}`, port: { key: `p${i}`, label: `Port ${i}` }, end }) as Lane
      return { lanes: Array.from({ length: count }, (_, i) => lane(i)), batch: null }
    },
    'write.cancel': ({ lane }: { lane: string }) => {
      cancelled.push(lane)
      return { was: true }
    },
    'write.batchStop': () => ({ batch: { running: false, ports: [], done: 0, failed: 0, tally: [] } }),
  } as Writing
  return { handlers, cancelled }
}
const never = () => Promise.reject(new Error('nobody is to be asked'))
const atOnce = async () => {}

describe('closing the window', () => {
  it('asks nobody while nothing is written', async () => {
    expect(await mayClose(writing(0, 0).handlers, never, atOnce)).toBe(true)
  })

  it('stays while the person wants to go on writing, and cancels nothing', async () => {
    const { handlers, cancelled } = writing(2, 0)
    const asked: (readonly string[])[] = []
    const stay = async (ports: readonly string[]) => asked.push(ports) < 0
    expect(await mayClose(handlers, stay, atOnce)).toBe(false)
    expect(asked).toEqual([['Port 0', 'Port 1']])
    expect(cancelled).toEqual([])
  })

  it('cancels each write and waits until it has said what the receiver is in', async () => {
    const { handlers, cancelled } = writing(2, 5)
    let waits = 0
    const wait = async () => void waits++
    expect(await mayClose(handlers, async () => true, wait)).toBe(true)
    expect(cancelled).toEqual(['l0', 'l1'])
    expect(waits).toBeGreaterThan(3)
  })

  it('does not wait for ever for one that does not end', async () => {
    expect(await mayClose(writing(1, Number.POSITIVE_INFINITY).handlers, async () => true, atOnce)).toBe(true)
  })
})
