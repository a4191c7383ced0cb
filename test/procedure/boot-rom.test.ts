import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { type BootRomPlan, bootRomTiming, writeThroughBootRom } from '../../shared/procedure/boot-rom.ts'
import { BootRomHost } from '../../shared/procedure/boot-rom-host.ts'
import { hexOf, octetsOf, stType, talk } from '../support/boot-rom-rig.ts'

/** What goes wrong at the other end of ST AN3155 comes back as a value with a code, and in the end it stops. */

const timing = bootRomTiming(115_200, stType().flash, 0)
const plan: BootRomPlan = {
  baud: 115_200,
  address: 0x0800_0000,
  octets: octetsOf('DE AD BE EF'),
  pages: [0],
  startAt: undefined,
  chipId: 0x410,
  writeMultiple: 4,
  timing,
  connectTries: 3,
  tries: 3,
  attempts: 2,
}

/** A sound chip, but for the answers that are given here; a function sees how often it was asked. */
function peer(odd: Readonly<Record<string, string | ((times: number) => string)>>) {
  const sound: Readonly<Record<string, string>> = {
    '00 FF': '79 0B 31 00 01 02 11 21 31 43 63 73 82 92 79',
    '02 FD': '79 01 04 10 79',
    '03 FC': '79 DE AD BE EF',
  }
  const times: Record<string, number> = {}
  return (sent: string): string => {
    times[sent] = (times[sent] ?? 0) + 1
    const answer = odd[sent] ?? sound[sent] ?? (sent === 'FF' ? '1F' : '79')
    return typeof answer === 'function' ? answer(times[sent]) : answer
  }
}
const run = (odd: Parameters<typeof peer>[0], change: Partial<BootRomPlan> = {}) =>
  talk(writeThroughBootRom({ ...plan, ...change }), peer(odd))

describe('failures', () => {
  it.each([
    ['nobody answers', { '7F': '' }, 'no-answer', 1],
    ['the chip is another', { '02 FD': '79 01 04 13 79' }, 'other-chip', 1],
    ['it cannot erase', { '00 FF': '79 04 31 00 01 02 11 79' }, 'not-supported', 1],
    ['it is read-out protected', { '43 BC': '1F' }, 'read-out-protected', 1],
    ['it declines the address', { '08 00 00 00 08': '1F' }, 'refused', 2],
    ['it falls silent', { '31 CE': '', FF: '' }, 'lost-contact', 2],
    ['something else is read back', { '03 FC': '79 DE AD BE EE' }, 'verify-differs', 2],
    ['Get is answered by rubbish', { '00 FF': '55 AA' }, 'lost-contact', 2],
  ] as const)('%s', (_title, odd, code, attempts) => {
    const { result, effects } = run(odd)
    expect(result).toMatchObject({ ended: 'failed', code, attempts })
    const failed = effects.filter(e => e.do === 'say' && e.event.kind === 'attempt-failed')
    expect(failed).toHaveLength(attempts)
  })

  it('the port has no even parity', () => {
    const { result, sent } = talk(writeThroughBootRom(plan), peer({}), { got: 'failed', why: 'no-line' })
    expect(result).toMatchObject({ ended: 'failed', code: 'no-line', attempts: 1 })
    expect(sent).toEqual([])
  })

  it('nothing is erased before the chip has named itself', () => {
    expect(run({ '02 FD': '79 01 04 13 79' }).sent).toEqual(['7F', '00 FF', '02 FD'])
    expect(run({}, { chipId: 0x413 }).sent).not.toContain('43 BC')
  })

  it('plain Erase cannot reach page 256, and says so', () => {
    expect(run({}, { pages: [255, 256] }).result).toMatchObject({ ended: 'failed', code: 'not-supported' })
  })
})

describe('repeats', () => {
  it('a command that was declined once goes through the second time', () => {
    const { result } = run({ '43 BC': times => (times === 1 ? '1F' : '79') })
    expect(result).toMatchObject({ ended: 'done', retries: 1, attempts: 1 })
  })

  it('a first octet that was taken for half a command counts as connected', () => {
    expect(run({ '7F': '1F' }).result).toMatchObject({ ended: 'done', retries: 0 })
  })

  it('after a lost answer to a write it looks before it writes again', () => {
    const data = '03 DE AD BE EF 21'
    const { result, sent } = run({ [data]: times => (times === 1 ? '' : '1F') })
    expect(result).toMatchObject({ ended: 'done', retries: 1, attempts: 1 })
    expect(sent.filter(octets => octets === data)).toHaveLength(1)
  })

  it('a block that did not arrive is written again', () => {
    const data = '03 DE AD BE EF 21'
    const { result, sent } = run({
      [data]: times => (times === 1 ? '' : '79'),
      '03 FC': times => (times === 1 ? '79 FF FF FF FF' : '79 DE AD BE EF'),
    })
    expect(result).toMatchObject({ ended: 'done', attempts: 1 })
    expect(sent.filter(octets => octets === data)).toHaveLength(2)
  })

  it('after silence in Erase it fills up with a page that is to be erased anyway', () => {
    const { result, sent } = run(
      { '00 05 05': times => (times === 1 ? '' : '79'), '05': '1F' },
      { pages: [5] },
    )
    expect(result).toMatchObject({ ended: 'done', attempts: 1 })
    expect(sent).toContain('05')
    expect(sent).not.toContain('FF')
  })

  it('Go without an answer is no failure: what was written has been read back', () => {
    const { result } = run({ '21 DE': '' }, { startAt: 0x0800_0000 })
    expect(result).toMatchObject({ ended: 'done', started: false })
  })
})

describe('what is told to people', () => {
  const toldOf = (odd: Parameters<typeof peer>[0]): string[] =>
    run(odd).effects.flatMap(e => {
      const isTold = e.do === 'say' && ['retry', 'note', 'attempt-failed'].includes(e.event.kind)
      return isTold && 'text' in e.event ? [e.event.text] : []
    })
  const data = '03 DE AD BE EF 21'

  it.each([
    [{ '7F': '' }, "The call to the chip's own loader was not answered and is sent again (2nd try of 3)."],
    [
      { '00 FF': '55 AA' },
      'The answer to the question what it can do could not be understood, so it is sent again',
    ],
    [{ '02 FD': '' }, 'The question which chip it is was not answered and is sent again (2nd try of 3).'],
    [
      { '43 BC': '1F' },
      'The receiver did not accept the order to erase, so it is sent again (2nd try of 3).',
    ],
    [{ '43 BC': '1F' }, 'its own loader turns down the order to erase.'],
    [{ '08 00 00 00 08': '1F' }, 'The receiver did not take block 1.'],
    [{ '31 CE': '', FF: '' }, 'The receiver gave no answer to block 1.'],
    [
      { [data]: (times: number) => (times === 1 ? '' : '1F') },
      'Block 1 was not answered. It is read back first',
    ],
    [
      { [data]: (times: number) => (times === 1 ? '' : '1F') },
      'Block 1 is there already, so it is not sent again.',
    ],
  ])('%j: %s', (odd, text) => {
    const told = toldOf(odd as Parameters<typeof peer>[0])
    expect(told.join('\n')).toContain(text)
    // What the document calls its commands is for programmers.
    expect(told.join('\n')).not.toMatch(/\b(Get|Get ID|Erase|Extended|Write Memory|Read Memory|Go)\b/)
  })
})

describe('blocks', () => {
  it('are 256 octets, the last one filled up with FF to what the chip takes', () => {
    const octets = Uint8Array.from({ length: 259 }, (_, i) => i & 0xff)
    const sound = peer({})
    let before = ''
    const { result, sent } = talk(writeThroughBootRom({ ...plan, octets }), said => {
      // 02 FD is the count of a read where it comes after an address, and Get ID elsewhere.
      const isCount = before.startsWith('08 00') && (said === 'FF 00' || said === '02 FD')
      const from = before === '08 00 01 00 09' ? 256 : 0
      before = said
      return isCount ? `79 ${hexOf(octets.subarray(from, from + 256))}` : sound(said)
    })
    expect(result.ended).toBe('done')
    const written = sent.filter((_, i) => sent[i - 2] === '31 CE')
    expect(written).toEqual([`FF ${hexOf(octets.subarray(0, 256))} FF`, '03 00 01 02 FF FF'])
  })
})

describe('time-outs', () => {
  it('cover the slowest flash: 256 octets in 8.96 ms, a page in 40 ms (ST DS5319, reference values 13)', () => {
    expect(timing.programMs).toBeCloseTo(8.96, 6)
    expect(timing.erasePageMs).toBe(40)
  })

  it('cover the line: 258 characters take 24.64 ms', () => {
    expect(timing.answerMs).toBeGreaterThan(24.64)
    expect(timing.answerMs).toBeLessThan(2 * 24.64)
  })
})

describe('a hostile peer', () => {
  const answers = fc.array(fc.uint8Array({ maxLength: 6 }).map(hexOf), { minLength: 1, maxLength: 40 })
  it('gets no exception out of it, and cannot keep it for ever', () => {
    fc.assert(
      fc.property(answers, fc.boolean(), (list, knowing) => {
        let at = 0
        const sound = peer({})
        // One that knows the protocol plays along for the first four questions.
        const { result, effects } = talk(writeThroughBootRom(plan), sent => {
          at++
          return knowing && at <= 4 ? sound(sent) : list[at % list.length]
        })
        expect(['done', 'failed']).toContain(result.ended)
        expect(effects.length).toBeLessThan(20_000)
      }),
      { numRuns: 200 },
    )
  })

  it('is not believed when it says yes to everything: what is read back must be there', () => {
    const { result } = talk(writeThroughBootRom(plan), sent => (sent === '00 FF' ? peer({})(sent) : '79'))
    expect(result.ended).toBe('failed')
  })

  it('Get that states more octets than it sends ends in no answer', () => {
    const { result } = talk(new BootRomHost(timing).get(), () => '79 FF 31 00')
    expect(result).toEqual({ got: 'nothing', step: 'data' })
  })
})
