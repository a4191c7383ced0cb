import { describe, expect, it } from 'vitest'
import { LiveTrace } from '../../main/serial/live-trace.ts'
import { type PortRunOptions, runOnPort } from '../../main/serial/runner.ts'
import type { Effect, EffectResult, Procedure, SessionEvent } from '../../shared/procedure/effects.ts'
import { portTo } from '../support/peers.ts'

const of = (...octets: number[]) => Uint8Array.from(octets)
const all = (got: Uint8Array) => got.length

function options(port: PortRunOptions['port'], more: Partial<PortRunOptions> = {}) {
  const events: SessionEvent[] = []
  const on: PortRunOptions = {
    port,
    echo: false,
    store: () => ({ got: 'failed', why: 'absent' }),
    onEvent: event => events.push(event),
    signal: new AbortController().signal,
    nowMs: () => performance.now(),
    ...more,
  }
  return { on, events }
}

function* once(octets: Uint8Array, timeoutMs = 20): Procedure<EffectResult> {
  yield { do: 'send', octets }
  return yield { do: 'receive', until: all, timeoutMs }
}

describe('a procedure on a port', () => {
  it('sends, hears the answer, and is given back what it returns', async () => {
    const { port, calls, listeners } = portTo((_, say) => say(of(0x79)))
    const { on } = options(port)
    expect(await runOnPort(once(of(0x7f)), on)).toEqual({
      ended: 'returned',
      value: { got: 'octets', octets: of(0x79) },
    })
    expect(calls).toEqual(['write 7f'])
    expect(listeners()).toBe(0)
  })

  it('times out where nothing comes, and takes no more than it asked for', async () => {
    const { port } = portTo(() => {})
    expect(await runOnPort(once(of(1)), options(port).on)).toMatchObject({ value: { got: 'timeout' } })
    function* two(): Procedure<number[]> {
      yield { do: 'send', octets: of(1) }
      const got: number[] = []
      for (let i = 0; i < 2; i++) {
        const result = yield { do: 'receive', until: b => b.length >= 2 && 2, timeoutMs: 100 }
        if (result.got === 'octets') got.push(...result.octets)
      }
      return got
    }
    const chatty = portTo((_, say) => {
      say(of(1, 2, 3))
      say(of(4))
    })
    expect(await runOnPort(two(), options(chatty.port).on)).toMatchObject({ value: [1, 2, 3, 4] })
  })

  it('tells the journal of each effect before it is carried out', async () => {
    const order: string[] = []
    const { port } = portTo((_, say) => say(of(1)))
    const write: PortRunOptions['port'] = {
      ...port,
      write: async octets => {
        order.push('written')
        await port.write(octets)
      },
    }
    const before = (effect: Effect, index: number) => order.push(`${index} ${effect.do}`)
    await runOnPort(once(of(1)), options(write, { before }).on)
    expect(order).toEqual(['0 send', 'written', '1 receive'])
  })

  it('goes on at once where the port takes at once and hears soon, and others still get a turn', async () => {
    const { port } = portTo(() => {})
    let answer = (_: Uint8Array) => {}
    let waits = 0
    const quick: PortRunOptions['port'] = {
      ...port,
      onOctets: hear => {
        answer = hear
        return () => {}
      },
      write: () => Promise.reject(new Error('nothing is left to write')),
      writeNow: octets => octets.length,
      hearSoon: () => {
        answer(of(6))
        return true
      },
    }
    function* many(): Procedure<number> {
      let heard = 0
      for (let i = 0; i < 1000; i++) if ((yield* once(of(i & 0xff))).got === 'octets') heard++
      return heard
    }
    const looking = setInterval(() => waits++, 0)
    const told: string[] = []
    const before = (effect: Effect) => told.push(effect.do)
    expect(await runOnPort(many(), options(quick, { before }).on)).toMatchObject({ value: 1000 })
    clearInterval(looking)
    expect(told).toHaveLength(2000)
    expect(waits).toBeGreaterThan(0)
  })

  it('writes the rest later of which the port takes only a part at once', async () => {
    const { port, calls } = portTo((_, say) => say(of(1)))
    const half: PortRunOptions['port'] = { ...port, writeNow: () => 2 }
    expect(await runOnPort(once(of(10, 11, 12)), options(half).on)).toMatchObject({
      value: { got: 'octets' },
    })
    expect(calls).toEqual(['write 0c'])
  })

  it('says progress in order and before the end, but after the next block has left', async () => {
    const order: string[] = []
    const { port } = portTo((_, say) => say(of(1)))
    const written: PortRunOptions['port'] = {
      ...port,
      writeNow: octets => {
        order.push(`written ${octets[0]}`)
        return 0
      },
    }
    function* blocks(): Procedure<void> {
      for (let i = 1; i <= 2; i++) {
        yield* once(of(i))
        yield { do: 'say', event: { kind: 'progress', done: i, total: 2 } }
      }
    }
    const onEvent = (event: SessionEvent) => order.push(event.kind === 'progress' ? `done ${event.done}` : '')
    await runOnPort(blocks(), options(written, { onEvent }).on)
    expect(order).toEqual(['written 1', 'written 2', 'done 1', 'done 2'])
  })

  it('carries nothing out that the journal could not keep, and lets the procedure go', async () => {
    const { port, calls } = portTo(() => {})
    let isLetGo = false
    function* procedure(): Procedure<void> {
      try {
        yield { do: 'send', octets: of(1) }
      } finally {
        isLetGo = true
        yield { do: 'send', octets: of(2) }
      }
    }
    const before = () => {
      throw new Error('disk full')
    }
    await expect(runOnPort(procedure(), options(port, { before }).on)).rejects.toThrow('disk full')
    expect(calls).toEqual([])
    expect(isLetGo).toBe(true)
  })

  it('sets the line, says once that control lines are missing, and answers no-line where it cannot be set', async () => {
    const { port, calls } = portTo(() => {})
    function* lines(): Procedure<EffectResult> {
      yield { do: 'line', baud: 57_600, parity: 'even', dtr: true }
      return yield { do: 'line', stopBits: 2, rts: false }
    }
    const { on, events } = options(port)
    expect(await runOnPort(lines(), on)).toMatchObject({ value: { got: 'done' } })
    expect(calls).toEqual([
      'set {"baud":57600,"parity":"even","stopBits":1}',
      'flush',
      'lines {"dtr":true}',
      'set {"baud":57600,"parity":"even","stopBits":2}',
      'flush',
      'lines {"rts":false}',
    ])
    expect(events).toHaveLength(1)
    expect(events[0]).toMatchObject({ kind: 'note', level: 'caution' })
  })
})

describe('the line effect', () => {
  const line: Effect = { do: 'line', baud: 115_200, parity: 'none' }

  it('leaves alone what a device says while the port is opened or as a control line resets it', async () => {
    const rig = portTo(() => {})
    const greeting: PortRunOptions['port'] = {
      ...rig.port,
      set: async () => rig.say(of(0x43)),
      lines: async () => {
        rig.say(of(0x79))
        return 'done'
      },
    }
    function* procedure(): Procedure<EffectResult[]> {
      yield line
      const first = yield { do: 'receive', until: all, timeoutMs: 10 }
      yield { do: 'send', octets: of(1) }
      yield { do: 'line', dtr: false }
      return [first, yield { do: 'receive', until: all, timeoutMs: 10 }]
    }
    const end = await runOnPort(procedure(), options(greeting).on)
    expect(end).toMatchObject({ value: [{ octets: of(0x43) }, { octets: of(0x79) }] })
    expect(rig.calls).not.toContain('flush')
  })

  it('forgets what is left of an attempt before', async () => {
    const { port, calls } = portTo((_, say) => say(of(9)))
    function* procedure(): Procedure<EffectResult> {
      yield line
      yield { do: 'send', octets: of(1) }
      yield { do: 'wait', ms: 1 }
      yield line
      return yield { do: 'receive', until: all, timeoutMs: 5 }
    }
    expect(await runOnPort(procedure(), options(port).on)).toMatchObject({ value: { got: 'timeout' } })
    expect(calls.filter(call => call === 'flush')).toHaveLength(1)
  })
})

describe('a cancel', () => {
  it.each(['receive', 'wait'] as const)(
    'ends a %s at once, and lets the procedure say good-bye',
    async what => {
      const abort = new AbortController()
      const { port, calls } = portTo(() => abort.abort())
      function* procedure(): Procedure<void> {
        try {
          yield { do: 'send', octets: of(1) }
          if (what === 'wait') yield { do: 'wait', ms: 3_600_000 }
          else yield { do: 'receive', until: all, timeoutMs: 3_600_000 }
          yield { do: 'send', octets: of(0xee) }
        } finally {
          yield { do: 'send', octets: of(0x18, 0x18) }
          yield { do: 'wait', ms: 1 }
        }
      }
      const { on } = options(port, { signal: abort.signal })
      expect(await runOnPort(procedure(), on)).toMatchObject({ ended: 'stopped', why: 'cancelled' })
      expect(calls).toEqual(['write 01', 'write 1818'])
    },
  )

  it('never cuts off what is being sent', async () => {
    const abort = new AbortController()
    const { port } = portTo(() => {})
    let isWritten = false
    const slow: PortRunOptions['port'] = {
      ...port,
      write: async () => {
        abort.abort()
        await new Promise(resolve => setTimeout(resolve, 20))
        isWritten = true
      },
    }
    const end = await runOnPort(once(of(1, 2, 3)), options(slow, { signal: abort.signal }).on)
    expect(end).toMatchObject({ ended: 'stopped', why: 'cancelled' })
    expect(isWritten).toBe(true)
  })

  it('that was there before the start lets nothing out', async () => {
    const { port, calls } = portTo(() => {})
    const end = await runOnPort(once(of(1)), options(port, { signal: AbortSignal.abort() }).on)
    expect(end).toMatchObject({ why: 'cancelled' })
    expect(calls).toEqual([])
  })

  it('gives a procedure that never ends cleaning up no more than its time', async () => {
    const { port } = portTo(() => {})
    let nowMs = 0
    function* stubborn(): Procedure<void> {
      try {
        yield { do: 'wait', ms: 1 }
      } finally {
        for (;;) yield { do: 'say', event: { kind: 'note', level: 'info', text: 'still here' } }
      }
    }
    const { on, events } = options(port, { signal: AbortSignal.abort(), nowMs: () => nowMs++ })
    expect(await runOnPort(stubborn(), on)).toMatchObject({ why: 'cancelled' })
    expect(events.length).toBeLessThanOrEqual(100)
  })
})

describe('what may never hang', () => {
  it('ends when the port goes, without asking more of it', async () => {
    const rig = portTo(() => rig.lose('pulled'))
    function* procedure(): Procedure<void> {
      try {
        yield { do: 'send', octets: of(1) }
        yield { do: 'receive', until: all, timeoutMs: 3_600_000 }
      } finally {
        yield { do: 'send', octets: of(0x18) }
      }
    }
    expect(await runOnPort(procedure(), options(rig.port).on)).toEqual({
      ended: 'stopped',
      why: 'port-lost',
      text: 'pulled',
    })
    expect(rig.calls).toEqual(['write 01'])
  })

  it('ends a procedure that runs away without ever waiting, and a store that never answers', async () => {
    const { port } = portTo(() => {})
    function* runaway(): Procedure<void> {
      for (;;) yield { do: 'say', event: { kind: 'progress', done: 0, total: 1 } }
    }
    const short = { longestMs: 30 }
    expect(await runOnPort(runaway(), options(port, short).on)).toMatchObject({ why: 'overdue' })
    function* storing(): Procedure<void> {
      yield { do: 'store', request: { op: 'space' } }
    }
    const never = { ...short, store: () => new Promise<EffectResult>(() => {}) }
    expect(await runOnPort(storing(), options(port, never).on)).toMatchObject({ why: 'overdue' })
  })

  it('keeps no more than so much of a device that babbles', async () => {
    const { port } = portTo((_, say) => {
      for (let i = 0; i < 64; i++) say(new Uint8Array(16 * 1024))
    })
    let most = 0
    function* procedure(): Procedure<EffectResult> {
      yield { do: 'send', octets: of(1) }
      const until = (got: Uint8Array): false => {
        most = Math.max(most, got.length)
        return false
      }
      return yield { do: 'receive', until, timeoutMs: 5 }
    }
    expect(await runOnPort(procedure(), options(port).on)).toMatchObject({ value: { got: 'timeout' } })
    expect(most).toBe(256 * 1024)
  })
})

describe('a line with an echo', () => {
  it('gives the procedure the answer alone, and records what was said once', async () => {
    const { port } = portTo((sent, say) => {
      say(sent)
      say(of(0x79))
    })
    const trace = new LiveTrace({ label: 'x', settings: port.settings, latencyMs: 0, startedAtMs: 0 })
    const { on, events } = options(port, { echo: true, trace })
    expect(await runOnPort(once(of(1, 2, 3)), on)).toMatchObject({ value: { octets: of(0x79) } })
    expect(events).toEqual([])
    expect([...trace.snapshot(performance.now()).lanes[0].octets]).toEqual([1, 2, 3, 0x79])
  })

  it('says that it came back changed, or not at all', async () => {
    const spoilt = portTo((_, say) => say(of(1, 0x55, 3, 0x79)))
    const changed = options(spoilt.port, { echo: true })
    expect(await runOnPort(once(of(1, 2, 3)), changed.on)).toMatchObject({ value: { octets: of(0x79) } })
    expect(changed.events).toMatchObject([{ kind: 'note', level: 'caution' }])
    const silent = portTo(() => {})
    const missing = options(silent.port, { echo: true })
    expect(await runOnPort(once(of(1)), missing.on)).toMatchObject({ value: { got: 'timeout' } })
    expect(missing.events).toHaveLength(1)
  })
})
