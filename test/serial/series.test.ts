import { describe, expect, it } from 'vitest'
import { type PortRunOptions, runOnPort } from '../../main/serial/runner.ts'
import type { Effect, EffectResult, Procedure, SessionEvent } from '../../shared/procedure/effects.ts'
import { portTo } from '../support/peers.ts'

const ACK = 6
const NAK = 21

function* series(count: number, timeoutMs: number, made: (n: number) => void): Procedure<EffectResult> {
  let next = 0
  let done = 0
  return yield {
    do: 'series',
    next: () => {
      if (next === count) return undefined
      made(next)
      return Uint8Array.of(next++ & 0xff)
    },
    until: got => got.length > 0 && 1,
    timeoutMs,
    wentOn: ([answer]) => (answer === ACK ? { kind: 'progress', done: ++done, total: count } : undefined),
  }
}

type Device = (octets: Uint8Array, say: (answer: Uint8Array) => void) => void

/** A port that takes at once and hears soon, as one of this computer does, or one that does neither. */
function run(device: Device, { count = 3, quick = true, timeoutMs = 2000, signal }: Partial<Run> = {}) {
  const { port } = portTo(device)
  const hearers = new Set<(octets: Uint8Array) => void>()
  let said: Uint8Array | undefined
  const quickly: PortRunOptions['port'] = {
    ...port,
    onOctets: hear => {
      hearers.add(hear)
      return () => hearers.delete(hear)
    },
    writeNow: octets => {
      device(octets, answer => {
        said = answer
      })
      return octets.length
    },
    hearSoon: () => {
      const answer = said
      said = undefined
      if (answer) for (const hear of hearers) hear(answer)
      return answer !== undefined
    },
  }
  const events: SessionEvent[] = []
  const order: string[] = []
  const made: number[] = []
  const ended = runOnPort(
    series(count, timeoutMs, n => {
      order.push(`made ${n}`)
      made.push(n)
    }),
    {
      port: quick ? quickly : port,
      echo: false,
      store: () => ({ got: 'failed', why: 'absent' }),
      before: (effect: Effect) => order.push(effect.do),
      onEvent: event => events.push(event),
      signal: signal ?? new AbortController().signal,
      nowMs: () => performance.now(),
    },
  )
  return { ended, events, order, made }
}
interface Run {
  readonly count: number
  readonly quick: boolean
  readonly timeoutMs: number
  readonly signal: AbortSignal
}

const acknowledges: Device = (_, say) => say(Uint8Array.of(ACK))

describe.each([true, false])('a series on a port (that takes and hears at once: %s)', quick => {
  it('goes on with each answer, and tells the journal of everything before it is done', async () => {
    const { ended, order, events } = run(acknowledges, { quick })
    expect(await ended).toEqual({ ended: 'returned', value: { got: 'done' } })
    expect(order).toEqual([
      ...['made 0', 'send', 'made 1', 'receive', 'say'],
      ...['send', 'made 2', 'receive', 'say'],
      ...['send', 'receive', 'say'],
    ])
    expect(events.map(event => event.kind === 'progress' && event.done)).toEqual([1, 2, 3])
  })

  it('ends with the answer that was not hoped for, and sends no more', async () => {
    let sent = 0
    const device: Device = (_, say) => say(Uint8Array.of(++sent === 2 ? NAK : ACK))
    const { ended } = run(device, { quick })
    expect(await ended).toEqual({
      ended: 'returned',
      value: { got: 'octets', octets: Uint8Array.of(NAK) },
    })
    expect(sent).toBe(2)
  })

  it('ends where an answer does not come in its time', async () => {
    const { ended, events } = run(() => {}, { quick, timeoutMs: 20 })
    expect(await ended).toEqual({ ended: 'returned', value: { got: 'timeout' } })
    expect(events).toEqual([])
  })

  it('is cancelled between two messages, though it never waits for anything', async () => {
    const control = new AbortController()
    let sent = 0
    const device: Device = (octets, say) => {
      if (++sent === 100) setImmediate(() => control.abort())
      acknowledges(octets, say)
    }
    const { ended, events } = run(device, { quick, count: 100_000, signal: control.signal })
    expect(await ended).toMatchObject({ ended: 'stopped', why: 'cancelled' })
    expect(sent).toBeLessThan(300)
    expect(events.length).toBeLessThanOrEqual(sent)
  })
})

describe('a series whose journal is broken', () => {
  it('ends before what could not be written down', async () => {
    const { port } = portTo(acknowledges)
    let left = 7
    const broken = runOnPort(
      series(10, 100, () => {}),
      {
        port,
        echo: false,
        store: () => ({ got: 'failed', why: 'absent' }),
        before: () => {
          if (left-- === 0) throw new Error('the disk is full')
        },
        onEvent: () => {},
        signal: new AbortController().signal,
        nowMs: () => performance.now(),
      },
    )
    await expect(broken).rejects.toThrow('the disk is full')
  })
})
