import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { COMMAND } from '../../shared/procedure/an3155.ts'
import type { Effect, EffectResult, Procedure } from '../../shared/procedure/effects.ts'
import { commandsOf } from '../../shared/sim/boot-rom-commands.ts'
import { VirtualCard } from '../../shared/sim/card.ts'
import { blankMemory } from '../../shared/sim/memory.ts'
import { PortBuffer } from '../../shared/sim/port.ts'
import { VirtualRunner } from '../../shared/sim/runner.ts'
import { TraceRecorder } from '../../shared/sim/trace.ts'
import { chipOnTable, contentOf, hexOf, stType } from '../support/boot-rom-rig.ts'
import { lineRig } from '../support/line-rig.ts'

/** The virtual chip against what does not follow ST AN3155: "NACK, and back to command checking" (its table 1). */

const ID = ['02 FD', '79 01 04 10 79'] as const

describe('malformed input is declined with 1F, changes nothing, and the next command works', () => {
  const address = '08 00 00 00 08'
  const cases: [title: string, say: string[], answers: string[]][] = [
    ['a complement that is wrong', ['31 CF'], ['1F']],
    ['an unknown command', ['A1 5E'], ['1F']],
    ['the erase command that the chip does not have', ['43 BC'], ['1F']],
    ['7F once more, and then half a command', ['7F 7F'], ['1F']],
    ['an address with a wrong checksum', ['31 CE', '08 00 00 00 09'], ['79', '1F']],
    ['an address before flash', ['11 EE', '07 FF FF FF 07'], ['79', '1F']],
    ['an address behind flash', ['11 EE', '08 08 28 00 28'], ['79', '1F']],
    ['an address in RAM', ['21 DE', '20 00 02 00 22'], ['79', '1F']],
    ['a count to read with a wrong complement', ['11 EE', address, '0F F1'], ['79', '79', '1F']],
    ['a read across the end of flash', ['11 EE', '08 08 27 FF D8', '01 FE'], ['79', '79', '1F']],
    ['data with a wrong checksum', ['31 CE', address, '03 DE AD BE EF 22'], ['79', '79', '1F']],
    ['an odd number of octets', ['31 CE', address, '00 55 55'], ['79', '79', '1F']],
    ['a write at an odd address', ['31 CE', '08 00 00 01 09', '01 AA BB 10'], ['79', '79', '1F']],
    ['a write across the end of flash', ['31 CE', '08 08 27 FE D9', '03 01 02 03 04 07'], ['79', '79', '1F']],
    ['an erase with a wrong checksum', ['44 BB', '00 00 00 01 00'], ['79', '1F']],
    ['an erase of a page that is not there', ['44 BB', '00 00 02 0A 08'], ['79', '1F']],
    ['a reserved erase code', ['44 BB', 'FF F8 07'], ['79', '1F']],
    ['a write protection with a wrong checksum', ['63 9C', '00 05 06'], ['79', '1F']],
  ]
  it.each(cases)('%s', (_title, say, answers) => {
    const memory = blankMemory(stType())
    memory.boot.octets.fill(0xff)
    const before = contentOf(memory)
    const table = chipOnTable({ memory, chip: { eraseCommand: COMMAND.extendedErase } })
    expect(table.say('7F')).toBe('79')
    expect(say.map(octets => table.say(octets))).toEqual(answers)
    expect(table.say(ID[0])).toBe(ID[1])
    expect(table.flasher.operations).toBe(0)
    expect(contentOf(memory)).toBe(before)
  })

  it('plain Erase too', () => {
    const table = chipOnTable({ chip: { eraseCommand: COMMAND.erase } })
    table.say('7F')
    for (const list of ['00 05 06', 'FF FF']) {
      expect([table.say('43 BC'), table.say(list)]).toEqual(['79', '1F'])
      expect(table.say(ID[0])).toBe(ID[1])
    }
    expect(table.flasher.operations).toBe(0)
  })
})

describe('a random talker', () => {
  const chunks = fc.array(fc.uint8Array({ minLength: 1, maxLength: 40 }), { minLength: 1, maxLength: 25 })
  /** Commands that can change flash; without one of them side by side on the line, nothing may be changed. */
  const changing = ['31 CE', '43 BC', '44 BB', '63 9C', '73 8C', '82 7D', '92 6D']

  it('never makes it crash, and never changes anything without a command that does', () => {
    fc.assert(
      fc.property(chunks, said => {
        fc.pre(!changing.some(c => hexOf(said.flatMap(chunk => [...chunk])).includes(c)))
        const table = chipOnTable()
        const before = contentOf(table.memory)
        table.say('7F')
        for (const chunk of said) table.say(chunk)
        expect(table.flasher.operations).toBe(0)
        expect(contentOf(table.memory) === before).toBe(true)
      }),
      { numRuns: 60 },
    )
  })

  it('gets NACK and no write for a block of which one octet behind the count has changed', () => {
    const data = fc.uint8Array({ minLength: 1, maxLength: 128 }).map(half => Uint8Array.of(...half, ...half))
    fc.assert(
      fc.property(data, fc.nat(), fc.integer({ min: 1, max: 255 }), (octets, where, change) => {
        const block = Uint8Array.of(octets.length - 1, ...octets, 0)
        block[block.length - 1] = block.reduce((sum, octet) => sum ^ octet, 0)
        block[1 + (where % (block.length - 1))] ^= change
        const memory = blankMemory(stType())
        memory.boot.octets.fill(0xff)
        const table = chipOnTable({ memory })
        for (const octetsSaid of ['7F', '31 CE', '08 00 00 00 08']) table.say(octetsSaid)
        expect(table.say(block)).toBe('1F')
        expect(table.flasher.operations).toBe(0)
      }),
      { numRuns: 60 },
    )
  })
})

describe('when it listens', () => {
  it('only with the boot pin held as power comes on', () => {
    const table = chipOnTable({ bootPinHeld: false })
    expect([table.say('7F'), table.say('00 FF')]).toEqual(['', ''])
  })

  it('passes over what comes before 7F', () => {
    const table = chipOnTable()
    expect([table.say('00 FF'), table.say('55'), table.say('7F'), table.say(ID[0])]).toEqual([
      ...['', '', '79'],
      ID[1],
    ])
  })

  it.each([
    ['without parity', { parity: 'none' as const }],
    ['slower than 1200 baud', { baud: 600 }],
    ['faster than 115200 baud', { baud: 230_400 }],
  ])('not %s', (_title, line) => {
    expect(chipOnTable({ line }).say('7F')).toBe('')
  })

  it('no more after power has failed, and again from 7F on when power is back', () => {
    const table = chipOnTable()
    table.say('7F')
    table.rail.cut('test')
    expect(table.say(ID[0])).toBe('')
    table.rail.energise(0)
    table.run()
    expect([table.say(ID[0]), table.say('7F'), table.say(ID[0])]).toEqual(['', '79', ID[1]])
  })

  it('waits for the rest of a command for ever, or gives it up with NACK where it has a time-out', () => {
    for (const [octetTimeoutMs, gaveUp, rest] of [
      [undefined, '', ID[1]],
      [20, '1F', ''],
    ] as const) {
      const table = chipOnTable(octetTimeoutMs === undefined ? {} : { octetTimeoutMs })
      table.say('7F')
      expect(table.say('02')).toBe(gaveUp)
      table.kernel.runTo(table.kernel.nowNs + 1e9)
      expect(table.say('FD')).toBe(rest || '1F')
    }
  })
})

describe('protection', () => {
  it('of read-out: all but four commands are declined at once', () => {
    for (const code of commandsOf(chipOnTable().chip)) {
      const { say } = chipOnTable({ chip: { readOutProtected: true } })
      say('7F')
      const answer = say(Uint8Array.of(code, code ^ 0xff))
      if ([0x00, 0x01, 0x02, 0x92].includes(code)) expect(answer.startsWith('79')).toBe(true)
      else expect(answer).toBe('1F')
    }
  })

  it('of read-out, lifted: erases everything, says ACK twice, and starts over', () => {
    const table = chipOnTable({ chip: { readOutProtected: true } })
    table.memory.program.octets.fill(0x11)
    table.say('7F')
    expect(table.say('92 6D')).toBe('79 79')
    expect(table.chip.readOutProtected).toBe(false)
    expect(/^[\xff|]*$/.test(contentOf(table.memory))).toBe(true)
    expect([table.say(ID[0]), table.say('7F')]).toEqual(['', '79'])
  })

  it('of read-out, set: says ACK twice, starts over, and then declines to read', () => {
    const table = chipOnTable()
    table.say('7F')
    expect([table.say('82 7D'), table.say('7F'), table.say('11 EE')]).toEqual(['79 79', '79', '1F'])
  })

  it('of pages against writing: set and lifted, and silent about what it kept from being written', () => {
    const table = chipOnTable({ chip: { eraseCommand: COMMAND.extendedErase } })
    const erase = () => [table.say('44 BB'), table.say('00 00 00 02 02')]
    table.say('7F')
    expect([table.say('63 9C'), table.say('00 02 02'), table.say('7F')]).toEqual(['79', '79', '79'])
    expect([erase(), table.flasher.operations]).toEqual([['79', '79'], 0])
    expect([table.say('73 8C'), table.say('7F')]).toEqual(['79 79', '79'])
    expect([erase(), table.flasher.operations]).toEqual([['79', '79'], 1])
  })
})

describe('flash', () => {
  it('that is not erased stays as it is, and what is read back tells', () => {
    const memory = blankMemory(stType())
    memory.boot.octets.fill(0xff)
    memory.boot.octets.set([0x12, 0x34], 2)
    const table = chipOnTable({ memory })
    for (const octets of ['7F', '31 CE', '08 00 00 00 08']) table.say(octets)
    expect(table.say('05 AA BB CC DD EE 11 FA')).toBe('79')
    expect(hexOf(memory.boot.octets.subarray(0, 8))).toBe('AA BB 12 34 EE 11 FF FF')
  })

  it('is written and read across the border of boot loader and program', () => {
    const table = chipOnTable()
    table.memory.boot.octets.fill(0xff)
    const address = '08 00 1F FE E9'
    for (const octets of ['7F', '31 CE', address]) table.say(octets)
    expect(table.say('03 01 02 03 04 07')).toBe('79')
    expect(hexOf(table.memory.boot.octets.subarray(-2))).toBe('01 02')
    expect(hexOf(table.memory.program.octets.subarray(0, 3))).toBe('03 04 FF')
    for (const octets of ['11 EE', address]) table.say(octets)
    expect(table.say('03 FC')).toBe('79 01 02 03 04')
  })

  it('takes its time: one page 20 to 40 ms (ST DS5319, table 28)', () => {
    const table = chipOnTable({ chip: { eraseCommand: COMMAND.extendedErase } })
    for (const octets of ['7F', '44 BB']) table.say(octets)
    const startNs = table.kernel.nowNs
    table.say('00 00 00 00 00')
    const tookMs = (table.kernel.nowNs - startNs) / 1e6
    expect(tookMs).toBeGreaterThan(20)
    expect(tookMs).toBeLessThan(42)
  })
})

describe('the runner', () => {
  function* open(effect: Effect): Procedure<EffectResult> {
    return yield effect
  }
  const ask = (id: 'bus' | 'module-port', effect: Effect) => {
    const { kernel, line } = lineRig({ id, baud: 115_200, parity: 'even' })
    const trace = new TraceRecorder()
    const runner = new VirtualRunner({
      ...{ kernel, line, trace, party: 0, port: new PortBuffer(), card: new VirtualCard(undefined, trace) },
      ...{ mayOpen: () => undefined, beforeEffect: () => {}, onOpen: () => {}, onStaged: () => {} },
    })
    return runner.run(open(effect))
  }

  it('opens a line only with the rate and parity that it has; what is not asked for does not matter', () => {
    expect(ask('bus', { do: 'line', baud: 115_200, parity: 'even' })).toEqual({ got: 'done' })
    expect(ask('bus', { do: 'line', power: true })).toEqual({ got: 'done' })
    for (const wrong of [{ baud: 9600 }, { parity: 'none' as const }])
      expect(ask('bus', { do: 'line', ...wrong })).toEqual({ got: 'failed', why: 'no-line' })
  })

  it("leaves the radio's own port to its module to the radio", () => {
    expect(ask('module-port', { do: 'line', baud: 57_600, parity: 'none' })).toEqual({ got: 'done' })
  })
})
