import { describe, expect, it } from 'vitest'
import { LiveTrace } from '../../../../main/serial/live-trace.ts'
import { exchangeOf, MOST_TURNS } from '../../../../renderer/bench/program/exchange-of.ts'
import { builtInDialects } from '../../../../shared/dialect/built-in/all.ts'
import { testDialect } from '../../../../shared/dialect/exchange.ts'

const settings = { baud: 115_200, parity: 'even', stopBits: 1 } as const
const live = () => new LiveTrace({ label: 'Red one', settings, latencyMs: 0, startedAtMs: 0 })

describe('a recorded line as an exchange', () => {
  it('has what was sent and heard by turns, and fits the dialect that said it', () => {
    const trace = live()
    trace.sent(Uint8Array.of(0x7f), 0)
    trace.heard(Uint8Array.of(0x79), 10)
    trace.sent(Uint8Array.of(0x00, 0xff), 20)
    trace.heard(Uint8Array.of(0x79), 30)
    const text = exchangeOf(trace.snapshot(40))
    expect(text).toBe('→ 7F\n← 79\n→ 00 FF\n← 79\n')
    const dialect = builtInDialects().get('st-an3155')
    const tested = dialect && testDialect(dialect, text)
    expect(tested?.ok && tested.value.agrees).toBe(true)
  })

  it('puts in one turn what one side said in pieces, and ends before it is too long to read', () => {
    const trace = live()
    for (let i = 0; i < 2 * MOST_TURNS; i++) {
      trace.sent(Uint8Array.of(1), i * 100)
      trace.sent(Uint8Array.of(2), i * 100 + 20)
      trace.heard(Uint8Array.of(3), i * 100 + 50)
    }
    const lines = exchangeOf(trace.snapshot(1e6)).trimEnd().split('\n')
    expect(lines).toHaveLength(MOST_TURNS)
    expect(lines.slice(0, 2)).toEqual(['→ 01 02', '← 03'])
  })
})
