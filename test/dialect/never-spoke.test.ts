import { describe, expect, it } from 'vitest'
import { builtInDialects } from '../../shared/dialect/built-in/all.ts'
import { writeByDialect } from '../../shared/dialect/interpret.ts'
import type { Dialect } from '../../shared/dialect/schema.ts'
import type { Effect, EffectResult } from '../../shared/procedure/effects.ts'

/** Nobody is at the other end: every wait is waited to its end, and counted. */
function writeIntoSilence(name: string, says: (waits: number) => Uint8Array | undefined = () => undefined) {
  const dialect = builtInDialects().get(name) as Dialect
  const procedure = writeByDialect({
    ...{ dialect, baud: dialect.line.baud[0], pages: [], expectBefore: {}, expectAfter: {} },
    image: { octets: new Uint8Array(500).fill(7), address: 0, fileName: 'a.bin' },
  })
  let ms = 0
  let waits = 0
  const notes: string[] = []
  const mostMs: (number | undefined)[] = []
  const answer = (effect: Effect): EffectResult => {
    if (effect.do === 'say' && effect.event.kind === 'note') {
      notes.push(effect.event.text)
      mostMs.push(effect.event.mostMs)
    }
    if (effect.do === 'wait') ms += effect.ms
    if (effect.do !== 'receive') return { got: 'done' }
    const octets = effect.timeoutMs > 0 ? says(waits++) : undefined
    const taken = octets && effect.until(octets)
    if (octets && typeof taken === 'number') return { got: 'octets', octets: octets.subarray(0, taken) }
    ms += effect.timeoutMs
    return { got: 'timeout' }
  }
  let step = procedure.next()
  while (!step.done) step = procedure.next(answer(step.value))
  return { end: step.value, seconds: ms / 1000, notes, mostMs }
}

// C. Forsberg (ed.), XMODEM/YMODEM Protocol Reference, 18 June 1988, section 7.3.3: the sender waits about a minute.
describe.each(['xmodem-crc', 'xmodem-1k', 'ymodem'])('nobody speaks to the sender of %s', name => {
  it('waits a minute, once, and says beforehand for what and how long', () => {
    const { end, seconds, notes, mostMs } = writeIntoSilence(name)
    expect(end).toMatchObject({ ended: 'failed', code: 'no-answer', attempts: 1, state: 'as-before' })
    expect(end.text).toMatch(/it should speak first, and has said nothing in 60 s/)
    expect(seconds).toBeLessThan(61)
    expect(notes[0]).toBe(
      'Waiting for the receiver, which speaks first (about every 3 s): at most 60 s. Nothing is sent until then.',
    )
    expect(mostMs[0]).toBe(60_000)
  })

  it('tries again where the receiver has spoken and then falls silent', () => {
    const { end } = writeIntoSilence(name, waits => (waits === 0 ? Uint8Array.of(0x43) : undefined))
    expect(end).toMatchObject({ ended: 'failed', attempts: 2 })
  })
})
