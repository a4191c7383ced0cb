import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { MAX_WRITE_DATA } from '../../shared/procedure/bus.ts'
import { timingFor } from '../../shared/procedure/timing.ts'
import { bitsPerCharacter, characterNs } from '../../shared/wire/uart.ts'

const { flash } = demoBench().catalogue.receiverTypes[0]
const input = {
  route: 'cable',
  baud: 115_200,
  turnaroundMs: 0.2,
  flash,
  latencyMs: 0,
  settleMs: 120,
  listenMs: 400,
} as const

describe('time-outs', () => {
  it('are never shorter than the slowest answer by the line and by ST DS5319 tables 28 and 29', () => {
    const timing = timingFor(input)
    const wordMs = 0.07
    const pageMs = 40
    const replyMs = (12 * characterNs(115_200)) / 1e6
    expect(timing.writeMs).toBeGreaterThan((MAX_WRITE_DATA / 2) * wordMs + input.turnaroundMs + replyMs)
    expect(timing.eraseMs).toBeGreaterThan(timing.erasePages * pageMs + input.turnaroundMs + replyMs)
    expect(timing.settleMs).toBeGreaterThan(input.settleMs)
    expect(timing.restartMs).toBeGreaterThan(input.listenMs)
  })

  it('allow for the latency timer of an adapter: 16 ms by default, FTDI AN232B-04', () => {
    const plain = timingFor(input)
    const late = timingFor({ ...input, latencyMs: 16 })
    for (const key of ['shortMs', 'writeMs', 'eraseMs'] as const)
      expect(late[key] - plain[key]).toBeCloseTo(16, 9)
    expect(late.digestMs(1000) - plain.digestMs(1000)).toBeCloseTo(16, 9)
  })

  it('grow on a slower line, and by air with the slots', () => {
    expect(timingFor({ ...input, baud: 9600 }).shortMs).toBeGreaterThan(timingFor(input).shortMs * 4)
    expect(timingFor({ ...input, route: 'wireless' }).shortMs).toBeGreaterThan(timingFor(input).shortMs)
    expect(timingFor({ ...input, route: 'wireless' }).tries).toBeGreaterThan(timingFor(input).tries)
  })

  it('rest on characters of 10 bits, 11 with parity', () => {
    expect([bitsPerCharacter('none'), bitsPerCharacter('even')]).toEqual([10, 11])
  })
})
