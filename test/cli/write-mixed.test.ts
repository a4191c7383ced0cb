import { describe, expect, it } from 'vitest'
import { BadInput } from '../../main/cli/ending.ts'
import type { WriteOptions } from '../../main/cli/write.ts'
import {
  baudOption,
  checkAnswers,
  checkExpected,
  onThisBench,
  refuseMixed,
} from '../../main/cli/write-mixed.ts'
import { preflash } from '../support/cli.ts'

const options = (change: Partial<WriteOptions>): WriteOptions => ({
  ...{ dialect: 'xmodem-crc', caution: [], expect: [] },
  ...change,
})
const direct = { direct: true, confirm: 'wiring' }

describe('options of a write', () => {
  it('are refused together with --direct where they are about a bench: no way round a reversed supply', () => {
    const ofBench: Partial<WriteOptions>[] = [
      { receiver: 'wren-trainer' },
      { adapter: 'bench-programmer' },
      { cable: 'programmer-cable-swapped' },
      { bench: 'bench.json' },
      { demo: true },
      { feed: 'both' },
      { supply: 'nimh-4' },
      { dropOutside: true },
      { check: true },
      { caution: ['drive=bare'] },
    ]
    for (const change of ofBench) {
      expect(() => refuseMixed(options({ ...direct, ...change }))).toThrow(/belongs to a write on a bench/)
      expect(() => refuseMixed(options(change))).not.toThrow()
    }
    expect(() => refuseMixed(options(direct))).not.toThrow()
  })

  it('are refused without --direct where they are about that', () => {
    for (const change of [{ confirm: 'wiring' }, { address: '0' }, { pageBytes: '1024' }])
      expect(() => refuseMixed(options(change))).toThrow(/belongs to --direct/)
  })

  it('take only rates that a serial line can have', () => {
    for (const text of ['0', '49', '4000001', '-1', '0x100', '9600.5', 'fast', ''])
      expect(() => baudOption(text), text).toThrow(/is not a rate/)
    expect([baudOption(undefined), baudOption('50'), baudOption('115200')]).toEqual([undefined, 50, 115_200])
  })

  it('name only questions and answers that there are', () => {
    const choices = [
      { id: 'bare', label: 'Nothing' },
      { id: 'propeller', label: 'The propeller' },
    ]
    const questions = [{ id: 'drive', question: '?', look: '', choices }]
    expect(() => checkAnswers({ drive: 'bare' }, questions)).not.toThrow()
    expect(() => checkAnswers({ drvie: 'bare' }, questions)).toThrow(/not the name of a question/)
    expect(() => checkAnswers({ drive: 'yes' }, questions)).toThrow(/not the name of an answer to "drive"/)
  })

  it('name only what is on the bench, and what the receiver tells', () => {
    expect(onThisBench('--cable', 'a', [{ id: 'a' }])).toBe('a')
    expect(() => onThisBench('--cable', 'b', [{ id: 'a' }])).toThrow(BadInput)
    expect(() => checkExpected({ chip: '0410' }, 'A loader', ['chip'])).not.toThrow()
    expect(() => checkExpected({ chp: '0410' }, 'A loader', ['chip'])).toThrow(/does not tell "chp"/)
  })
})

describe('preflash write', () => {
  it('opens no port for --check with --direct', async () => {
    const args = ['--port', '/dev/ttyX9', '--direct', '--confirm', 'wiring', '--check', '--image', 'x']
    const { code, err, out } = await preflash('write', '--dialect', 'xmodem-crc', ...args)
    expect([code, out, err]).toEqual([2, '', expect.stringMatching(/^--check: /)])
  }, 60_000)

  it('says plainly that no command was named', async () => {
    expect(await preflash()).toMatchObject({ code: 2, err: 'No command is named.\nTry: preflash --help\n' })
  }, 60_000)
})
