import { describe, expect, it } from 'vitest'
import { builtInDialects } from '../../shared/dialect/built-in/all.ts'
import { identifyByDialect, readByDialect, writeByDialect } from '../../shared/dialect/interpret.ts'
import type { Dialect } from '../../shared/dialect/schema.ts'
import { stateIfBrokenOff } from '../../shared/dialect/state.ts'
import { COMMAND } from '../../shared/procedure/an3155.ts'
import { type BootRomPlan, bootRomTiming, writeThroughBootRom } from '../../shared/procedure/boot-rom.ts'
import type { Effect, SessionEvent } from '../../shared/procedure/effects.ts'
import { dice } from '../../shared/sim/dice.ts'
import { blankMemory } from '../../shared/sim/memory.ts'
import { hexOf, stType, talk } from '../support/boot-rom-rig.ts'
import { chipWithRunner, imageOf, planOf } from '../support/dialect-rig.ts'

/**
 * ST AN3155 as data against two other implementations of the same document: the virtual chip, and the procedure that
 * was written for it by hand.
 */
const an3155 = builtInDialects().get('st-an3155') as Dialect
const image = imageOf(3000)
/** 8 pages of boot loader lie before the program. */
const pages = [8, 9, 10]
const plan = planOf(an3155, image, { pages, expectBefore: { chip: '410' }, wordOctets: 4 })

describe('against the virtual chip', () => {
  it.each([COMMAND.erase, COMMAND.extendedErase])(
    'writes what is to be written, by erase command %i',
    erase => {
      const chip = chipWithRunner({ chip: { eraseCommand: erase } })
      const end = chip.run(writeByDialect(plan))
      expect(end).toMatchObject({ ended: 'done', attempts: 1, retries: 0, proof: { verified: 'read-back' } })
      expect(chip.memory.program.octets.slice(0, 3000)).toEqual(image)
      expect([...chip.memory.program.octets.slice(3000, 4000)].every(octet => octet === 0xff)).toBe(true)
      chip.settle()
      expect(chip.device.startedAt).toBe(0x0800_2000)
      const phases = chip.events().flatMap(e => (e.kind === 'phase' ? [e.phase] : []))
      expect(phases).toEqual(['enter', 'identify', 'erase', 'write', 'verify', 'restart'])
    },
  )

  it('backs up what is there before it erases', () => {
    const memory = blankMemory(stType())
    memory.program.octets.set(imageOf(2000, 99))
    const chip = chipWithRunner({ memory })
    const end = chip.run(writeByDialect({ ...plan, backup: { address: 0x0800_2000, octets: 2000 } }))
    expect(end.ended).toBe('done')
    expect(end.backup).toEqual(imageOf(2000, 99))
    expect(
      chip
        .events()
        .flatMap(e => (e.kind === 'phase' ? [e.phase] : []))
        .slice(1, 4),
    ).toEqual(['identify', 'backup', 'erase'])
  })

  it('reads without writing, and asks without reading', () => {
    const memory = blankMemory(stType())
    memory.program.octets.set(imageOf(700, 5))
    const chip = chipWithRunner({ memory })
    const read = chip.run(
      readByDialect({ dialect: an3155, baud: 115_200, address: 0x0800_2000, octets: 700 }),
    )
    expect(read).toMatchObject({ ended: 'done', octets: imageOf(700, 5) })
    expect(chip.run(identifyByDialect({ dialect: an3155, baud: 115_200 }))).toMatchObject({
      ended: 'done',
      identity: [{ name: 'chip', value: '0410' }, { name: 'loader' }],
    })
    expect(chip.flasher.operations).toBe(0)
  })

  it('another chip is left alone', () => {
    const chip = chipWithRunner({ chip: { id: 0x413 } })
    expect(chip.run(writeByDialect(plan))).toMatchObject({
      ended: 'failed',
      code: 'other-identity',
      attempts: 1,
      state: 'as-before',
    })
    expect(chip.flasher.operations).toBe(0)
  })

  it('a locked chip is told in words and not tried again', () => {
    const chip = chipWithRunner({ chip: { readOutProtected: true } })
    const end = chip.run(writeByDialect({ ...plan, backup: { address: 0x0800_2000, octets: 100 } }))
    expect(end).toMatchObject({ ended: 'failed', code: 'refused', attempts: 1 })
    expect(end.text).toContain('read-out protected')
    expect(chip.events().some(e => e.kind === 'note' && e.text.includes('cannot be backed up'))).toBe(true)
  })

  it('without its boot pin held nobody answers, and nothing is changed', () => {
    const chip = chipWithRunner({ bootPinHeld: false })
    expect(chip.run(writeByDialect(plan))).toMatchObject({
      ended: 'failed',
      code: 'no-answer',
      state: 'as-before',
    })
  })

  it('a line that is not even parity is said', () => {
    const chip = chipWithRunner({ line: { parity: 'none' } })
    expect(chip.run(writeByDialect(plan))).toMatchObject({ ended: 'failed', code: 'no-line', attempts: 1 })
  })

  it.each(Array.from({ length: 12 }, (_, seed) => seed))('noise, seed %i: never a false success', seed => {
    const noise = { bitErrorRate: 4e-5, dice: dice(seed, 'noise') }
    const chip = chipWithRunner({ line: noise, octetTimeoutMs: seed % 2 === 0 ? undefined : 500 })
    const end = chip.run(writeByDialect(plan))
    if (end.ended === 'done') expect(chip.memory.program.octets.slice(0, 3000)).toEqual(image)
    else expect(end.code).toBeDefined()
    expect(end.ended === 'done' || end.state !== 'as-before' || chip.flasher.operations === 0).toBe(true)
  })

  it('noise costs repeats, and most sessions come through it', () => {
    const ends = Array.from({ length: 20 }, (_, seed) => {
      const chip = chipWithRunner({ line: { bitErrorRate: 2e-5, dice: dice(seed, 'noise') } })
      return chip.run(writeByDialect(plan))
    })
    expect(ends.filter(end => end.ended === 'done').length).toBeGreaterThan(14)
    expect(ends.reduce((sum, end) => sum + end.retries, 0)).toBeGreaterThan(0)
  })
})

describe('against the procedure written by hand', () => {
  it('both say the same octets', () => {
    const byHand: BootRomPlan = {
      ...{ baud: 115_200, address: 0x0800_2000, octets: image, pages, startAt: 0x0800_2000, chipId: 0x410 },
      ...{ writeMultiple: 4, timing: bootRomTiming(115_200, stType().flash, 0) },
      ...{ connectTries: 3, tries: 3, attempts: 1 },
    }
    const there = new Uint8Array(4096).fill(0xff)
    const peer = () => {
      let address = 0
      let command = ''
      return (sent: string): string => {
        if (sent === '00 FF') return '79 0B 31 00 01 02 11 21 31 44 63 73 82 92 79'
        if (sent === '02 FD') return '79 01 04 10 79'
        const octets = sent.split(' ').map(pair => Number.parseInt(pair, 16))
        if (octets.length === 2 && (octets[0] ^ octets[1]) === 0xff && command !== '11 EE') command = sent
        else if (octets.length === 5 && command !== '44 BB')
          address = ((octets[0] << 24) | (octets[1] << 16) | (octets[2] << 8) | octets[3]) - 0x0800_2000
        else if (command === '31 CE') there.set(octets.slice(1, -1), address)
        else if (command === '11 EE') {
          command = ''
          return `79 ${hexOf(there.slice(address, address + octets[0] + 1))}`
        }
        return '79'
      }
    }
    const data = talk(writeByDialect(plan), peer())
    const hand = talk(writeThroughBootRom(byHand), peer())
    expect(data.result.ended).toBe('done')
    expect(hand.result.ended).toBe('done')
    expect(data.sent).toEqual(hand.sent)
  })
})

describe('repeats', () => {
  /** As in the tests of the procedure written by hand: a sound chip, but for what is given. */
  const run = (odd: Record<string, (times: number) => string>) => {
    const times: Record<string, number> = {}
    const small = planOf(an3155, Uint8Array.of(0xde, 0xad, 0xbe, 0xef), { pages: [0] })
    return talk(writeByDialect(small), sent => {
      times[sent] = (times[sent] ?? 0) + 1
      const answer = odd[sent]?.(times[sent])
      if (answer !== undefined) return answer
      if (sent === '00 FF') return '79 0B 31 00 01 02 11 21 31 43 63 73 82 92 79'
      if (sent === '02 FD') return '79 01 04 10 79'
      if (sent === '03 FC') return '79 DE AD BE EF'
      return sent === 'FF' ? '1F' : '79'
    })
  }
  const data = '03 DE AD BE EF 21'

  /** What is told from the first repeat on, and what is sent in between. */
  const toldOf = (effects: readonly Effect[]): string[] => {
    const told = effects.flatMap(e => {
      if (e.do === 'send') return [hexOf(e.octets)]
      const isWord = e.do === 'say' && (e.event.kind === 'retry' || e.event.kind === 'note')
      return isWord && 'text' in e.event ? [e.event.text] : []
    })
    return told.slice(told.findIndex(text => text.startsWith('Block')))
  }
  const first = /^Block 1 was not answered\. It is read back first, in case it is there all the same \(2nd/

  it('after a lost answer to a write it looks before it writes again', () => {
    const { result, sent, effects } = run({ [data]: times => (times === 1 ? '' : '1F') })
    expect(result).toMatchObject({ ended: 'done', retries: 1, attempts: 1 })
    expect(sent.filter(octets => octets === data)).toHaveLength(1)
    const [before, ...then] = toldOf(effects)
    expect(before).toMatch(first)
    const found = 'Block 1 is there already, so it is not sent again.'
    expect(then.slice(0, then.indexOf(found))).toEqual(['11 EE', '08 00 20 00 28', '03 FC'])
    expect(then.join()).not.toContain('is sent again')
  })

  it('a block that did not arrive is written again', () => {
    const { result, sent, effects } = run({
      [data]: times => (times === 1 ? '' : '79'),
      '03 FC': times => (times === 1 ? '79 FF FF FF FF' : '79 DE AD BE EF'),
    })
    expect(result).toMatchObject({ ended: 'done', attempts: 1 })
    expect(sent.filter(octets => octets === data)).toHaveLength(2)
    const told = toldOf(effects)
    expect(told[0]).toMatch(first)
    expect(told.slice(1, 4)).toEqual(['11 EE', '08 00 20 00 28', '03 FC'])
    expect(told[4]).toBe('Block 1 is not there and is sent again.')
  })

  it('after silence in Erase it fills up with a page that is to be erased anyway', () => {
    const { result, sent } = run({ '00 00 00': times => (times === 1 ? '' : '79'), '00': () => '1F' })
    expect(result).toMatchObject({ ended: 'done', attempts: 1 })
    expect(sent).toContain('00')
    expect(sent).not.toContain('FF')
  })

  const filler = 'FF'

  it('a second attempt does not look for a block before it has sent one', () => {
    let gets = 0
    const { sent } = run({
      [data]: () => '',
      [filler]: () => '',
      '00 FF': () => (++gets === 2 ? '1F' : '79 0B 31 00 01 02 11 21 31 43 63 73 82 92 79'),
    })
    const second = sent.slice(sent.lastIndexOf('7F', sent.lastIndexOf('7F') - 1))
    expect(gets).toBeGreaterThan(2)
    expect(second.slice(0, 5)).toEqual(['7F', '00 FF', '00 FF', '02 FD', '43 BC'])
  })

  it('what is read back differently is never a success', () => {
    const { result } = run({ '03 FC': () => '79 DE AD BE EE' })
    expect(result).toMatchObject({
      ended: 'failed',
      code: 'verify-differs',
      attempts: 3,
      state: 'partly-written',
    })
  })

  it('Go without an answer is told, but the write stands', () => {
    const { result } = run({ '21 DE': () => '' })
    expect(result).toMatchObject({
      ended: 'done',
      state: 'written-not-proven',
      proof: { verified: 'read-back', started: false },
    })
  })
})

describe('a session that was broken off', () => {
  const phases = (...ids: string[]) =>
    ids.map(phase => ({ kind: 'phase', phase, attempt: 1 })) as unknown as SessionEvent[]
  it.each([
    [['enter', 'identify', 'backup'], 'as-before'],
    [['enter', 'erase'], 'in-boot-loader'],
    [['enter', 'erase', 'write'], 'partly-written'],
    [['enter', 'erase', 'write', 'verify'], 'written-not-proven'],
    [['enter', 'erase', 'write', 'verify', 'restart'], 'not-known'],
    [['enter', 'erase', 'write', 'enter', 'identify'], 'partly-written'],
    [['erase', 'write', 'verify', 'enter', 'erase'], 'in-boot-loader'],
  ])('after %j: %s', (ids, state) => {
    expect(stateIfBrokenOff(phases(...ids))).toBe(state)
  })
})
