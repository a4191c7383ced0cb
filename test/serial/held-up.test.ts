import { describe, expect, it } from 'vitest'
import type { OpenPort } from '../../main/serial/port.ts'
import { runOnPort } from '../../main/serial/runner.ts'
import type { EffectResult, Procedure } from '../../shared/procedure/effects.ts'

/** A port whose answer arrives in time, but while this program is busy with something else. */
function port(busyMs: number, answers: boolean): OpenPort {
  let hear: (octets: Uint8Array) => void = () => {}
  return {
    ...{ label: 'p', latencyMs: 0, settings: { baud: 115_200, parity: 'none', stopBits: 1 } },
    write: async () => {
      // Timers that are due come before what the system has to hand over.
      setImmediate(() => {
        const untilMs = performance.now() + busyMs
        while (performance.now() < untilMs);
        if (answers) setImmediate(() => hear(Uint8Array.of(0x79)))
      })
    },
    onOctets: listener => {
      hear = listener
      return () => {}
    },
    onLost: () => () => {},
    set: async () => {},
    lines: async () => 'done',
    flushInput: async () => {},
    close: async () => {},
  } as OpenPort
}

function* ask(): Procedure<EffectResult> {
  yield { do: 'send', octets: Uint8Array.of(0x7f) }
  return yield { do: 'receive', until: got => (got.length > 0 ? 1 : false), timeoutMs: 10 }
}
const run = (at: OpenPort) =>
  runOnPort(ask(), {
    ...{ port: at, echo: false, signal: new AbortController().signal, nowMs: () => performance.now() },
    store: () => ({ got: 'done' }),
    onEvent: () => {},
  })

describe('a program that was held up itself', () => {
  it('does not take what arrived meanwhile for late', async () => {
    expect(await run(port(120, true))).toMatchObject({ value: { got: 'octets' } })
  })

  it('does not wait for ever where nothing arrived', async () => {
    expect(await run(port(120, false))).toMatchObject({ value: { got: 'timeout' } })
  })
})
