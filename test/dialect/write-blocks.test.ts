import { describe, expect, it } from 'vitest'
import { builtInDialects } from '../../shared/dialect/built-in/all.ts'
import type { DialectPlan } from '../../shared/dialect/plan.ts'
import { AttemptFailed, DialectRun } from '../../shared/dialect/run.ts'
import { exchangeOf } from '../../shared/dialect/series.ts'
import { writeBlocks } from '../../shared/dialect/write-blocks.ts'
import type { EffectResult } from '../../shared/procedure/effects.ts'

const dialectOf = (name: string) => builtInDialects().get(name) ?? expect.fail(`there is no dialect ${name}`)

function laid(name: string, octets: number, inSeries = true) {
  const dialect = dialectOf(name)
  const image = { octets: new Uint8Array(octets).fill(0x5a), address: 0, fileName: 'image.bin' }
  const plan: DialectPlan = {
    ...{ dialect, baud: 115_200, image, pages: [], expectBefore: {}, expectAfter: {}, inSeries },
  }
  const run = new DialectRun({ dialect, baud: 115_200, image: image.octets })
  // The receiver has spoken: it has asked for the first block.
  run.speaker.silence = 'lost-contact'
  run.c.captures.set('start', { value: 0x43, octets: Uint8Array.of(0x43) })
  return { dialect, run, blocks: () => writeBlocks({ run, plan, steps: dialect.write.block }) }
}

const ACK: EffectResult = { got: 'octets', octets: Uint8Array.of(6) }
const NAK: EffectResult = { got: 'octets', octets: Uint8Array.of(0x15) }

/** @param answers to the blocks, one behind the other; all others are taken */
function carriedOut(name: string, octets: number, answers: readonly EffectResult[], inSeries = true) {
  const { blocks, run } = laid(name, octets, inSeries)
  const said: string[] = []
  const left = [...answers]
  const procedure = blocks()
  const receive = (until: (got: Uint8Array) => number | false): EffectResult => {
    const answer = left.shift() ?? ACK
    if (answer.got === 'octets') expect(until(answer.octets)).toBe(1)
    return answer
  }
  let input: EffectResult = { got: 'done' }
  for (;;) {
    const step = procedure.next(input)
    if (step.done) return { said, run }
    const effect = step.value
    input = { got: 'done' }
    if (effect.do === 'send') said.push(`${effect.octets[0]}:${effect.octets[1]}`)
    else if (effect.do === 'receive')
      input = effect.timeoutMs === 0 ? { got: 'timeout' } : receive(effect.until)
    else if (effect.do === 'series') {
      said.push('series')
      for (let message = effect.next(); message !== undefined; ) {
        said.push(`${message[0]}:${message[1]}`)
        const following = effect.next()
        const result = receive(effect.until)
        if (result.got !== 'octets' || effect.wentOn(result.octets) === undefined) {
          input = result
          break
        }
        message = following
      }
    } else if (effect.do === 'say') said.push(effect.event.kind)
  }
}

describe('blocks that are written', () => {
  it('are one series, short ones at the end included: they are answered in the same way', () => {
    expect(carriedOut('xmodem-1k', 2048 + 200, []).said).toEqual(['series', '2:1', '2:2', '1:3', '1:4'])
  })

  it('go one by one where no series is wanted', () => {
    expect(carriedOut('xmodem-1k', 2048, [], false).said).toEqual(['2:1', 'progress', '2:2', 'progress'])
  })

  it('are said again after a NAK or silence, and go on in series from there', () => {
    for (const bad of [NAK, { got: 'timeout' } as const]) {
      const { said, run } = carriedOut('xmodem-1k', 3072, [ACK, bad])
      expect(said).toEqual(['series', '2:1', '2:2', 'retry', '2:2', 'progress', 'series', '2:3'])
      expect(run.speaker.retries).toBe(1)
    }
  })

  it('count the first try of a series among the tries that a block has', () => {
    const nine = Array.from({ length: 9 }, () => NAK)
    expect(carriedOut('xmodem-crc', 128, nine).said.filter(what => what === '1:1')).toHaveLength(10)
    expect(() => carriedOut('xmodem-crc', 128, [...nine, NAK])).toThrow(AttemptFailed)
  })
})

describe('the steps of a block as one exchange', () => {
  it('are none before the receiver has been heard', () => {
    const { run, dialect } = laid('xmodem-crc', 128)
    run.speaker.silence = 'no-answer'
    expect(exchangeOf(dialect.write.block, run.speaker)).toBeUndefined()
  })

  it('are what holds for this block, with one answer for all', () => {
    const { run, dialect } = laid('xmodem-1k', 128)
    run.c.length = 1024
    const long = exchangeOf(dialect.write.block, run.speaker)
    run.c.length = 128
    const short = exchangeOf(dialect.write.block, run.speaker)
    expect(long?.send.parts[0]).toMatchObject({ hex: '02' })
    expect(short?.send.parts[0]).toMatchObject({ hex: '01' })
    expect(short?.answer).toBe(long?.answer)
    // Section 7.4 of the reference asks for ten seconds at least; the dialect waits longer than its receiver.
    expect(long?.timeoutMs).toBeGreaterThan(10_000)
  })

  it('are none where there is more than one question', () => {
    const { run, dialect } = laid('st-an3155', 256)
    expect(exchangeOf(dialect.write.block, run.speaker)).toBeUndefined()
    expect(exchangeOf([], run.speaker)).toBeUndefined()
  })
})
