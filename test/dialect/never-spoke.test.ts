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
  const retries: string[] = []
  let retryMs = 0
  const sent: Uint8Array[] = []
  const notes: string[] = []
  const mostMs: (number | undefined)[] = []
  const answer = (effect: Effect): EffectResult => {
    if (effect.do === 'say' && effect.event.kind === 'note') {
      notes.push(effect.event.text)
      mostMs.push(effect.event.mostMs)
    }
    if (effect.do === 'say' && effect.event.kind === 'retry') {
      retries.push(effect.event.text)
      retryMs = ms
    }
    if (effect.do === 'send') sent.push(effect.octets.slice())
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
  return { end: step.value, seconds: ms / 1000, secondsAtRetry: retryMs / 1000, notes, mostMs, retries, sent }
}

// C. Forsberg (ed.), XMODEM/YMODEM Protocol Reference, 18 June 1988, section 7.3.3: the sender waits about a minute.
describe.each(['xmodem-crc', 'xmodem-1k', 'ymodem'])('nobody speaks to the sender of %s', name => {
  it('waits a minute, once, and says beforehand for what and how long', () => {
    const { end, seconds, notes, mostMs, sent } = writeIntoSilence(name)
    // So that nobody is told that writing had begun.
    expect(sent).toEqual([])
    expect(end).toMatchObject({ ended: 'failed', code: 'no-answer', attempts: 1, state: 'as-before' })
    expect(end.text).toMatch(/it should speak first, and has said nothing in 60 s/)
    expect(seconds).toBeLessThan(61)
    expect(notes[0]).toBe(
      'Waiting for the receiver, which speaks first (about every 3 s): at most 60 s. Nothing is sent until then.',
    )
    expect(mostMs[0]).toBe(60_000)
  })

  // C, ACK of the name and C for YMODEM; C and ACK of a block for the others: then the cable is pulled.
  const spoken = name === 'ymodem' ? [0x43, 0x06, 0x43] : [0x43, 0x06]
  const cutAfter = (answers: number) =>
    writeIntoSilence(name, waits => {
      const octet = waits < answers ? spoken[waits] : undefined
      return octet === undefined ? undefined : Uint8Array.of(octet)
    })

  it('tries again where the receiver has spoken and then falls silent, and says how long that takes at the most', () => {
    for (let answers = 1; answers <= spoken.length; answers++) {
      const { end, retries, seconds, secondsAtRetry } = cutAfter(answers)
      expect(end).toMatchObject({ ended: 'failed', attempts: 2 })
      expect(end.text).toMatch(/does not answer any more: .* has said nothing in 18 s/)
      // With the name of a file under way, the receiver may erase before it asks for the first block.
      const waitsForErasing = name === 'ymodem' && answers === 2
      expect(retries.length).toBe(waitsForErasing ? 0 : 1)
      if (waitsForErasing) continue
      expect(retries[0]).toMatch(
        /was not answered and is sent again \(2nd try of 2\)\. If it stays silent, this ends in at most \d+ s\./,
      )
      const most = Number(/at most (\d+) s/.exec(retries[0])?.[1])
      expect(most).toBeGreaterThanOrEqual(seconds - secondsAtRetry)
      expect(most).toBeLessThanOrEqual(seconds - secondsAtRetry + 3)
      expect(seconds).toBeLessThan(60)
    }
  })

  it('gives up a receiver that is silent at the end of the file as soon as in the middle of it', () => {
    const answers = name === 'ymodem' ? [0x43, 0x06, 0x43] : [0x43]
    // 500 octets are four blocks of 128, by XMODEM-1K and YMODEM too.
    const blocks = 4
    const all = [...answers, ...Array.from({ length: blocks }, () => 0x06)]
    const { end, seconds, sent } = writeIntoSilence(name, waits =>
      all[waits] === undefined ? undefined : Uint8Array.of(all[waits]),
    )
    expect(sent.filter(octets => octets.length === 1 && octets[0] === 0x04).length).toBe(2)
    expect(end).toMatchObject({ ended: 'failed', attempts: 2 })
    expect(seconds).toBeLessThan(60)
  })
})
