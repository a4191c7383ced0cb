import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { ReceiverType } from '../../shared/model/catalogue.ts'
import { blankMemory, install, startable } from '../../shared/sim/memory.ts'
import {
  MOST_STATE_CHARACTERS,
  mostStateCharacters,
  readReceiverState,
  writeReceiverState,
} from '../../shared/sim/receiver-state.ts'
import { smallBench } from '../support/small-bench.ts'

const types = smallBench().catalogue.receiverTypes
const wren = types.find(t => t.id === 'aldwick-wren-6') as ReceiverType
const read = (text: string, type = wren) => readReceiverState(text, 'kept.json', type)
const codes = (text: string, type = wren) => {
  const got = read(text, type)
  return got.ok ? [] : got.problems.map(p => `${p.code} ${p.field ?? p.line ?? ''}`.trim())
}

function full() {
  const memory = blankMemory(wren)
  const version = { major: 2, minor: 0, patch: 1 }
  install(
    memory,
    Uint8Array.from({ length: 3001 }, (_, i) => (i * 7) & 0xff),
    {
      typeCode: 7,
      version,
      sequenceNumber: 3,
      generation: 3,
    },
  )
  memory.program.wear[2] = 41
  memory.dead = 'the supply was reversed'
  return memory
}

describe('what an emulated receiver keeps', () => {
  it('is never longer than what is said beforehand, whatever is written into it', () => {
    for (const type of types) {
      const memory = blankMemory(type)
      for (const region of [memory.program, memory.record, memory.boot]) {
        region.octets.fill(0)
        region.wear.fill(0xffff_ffff)
      }
      memory.dead = '\u0001'.repeat(300)
      const most = mostStateCharacters(memory)
      const longest = new TextEncoder().encode(writeReceiverState('x'.repeat(200), memory)).length
      expect(longest).toBeLessThanOrEqual(most)
      expect(most - longest).toBeLessThan(4096)
    }
  })

  it('is refused at once where brackets lie in one another by the million, before it is parsed', () => {
    for (const text of ['['.repeat(8_000_000), `${'['.repeat(4_000_000)}${']'.repeat(4_000_000)}`])
      expect(read(text)).toMatchObject({
        ok: false,
        problems: [
          { code: 'state.not-json', line: 1, message: expect.stringContaining('more than 100 deep') },
        ],
      })
  })

  it('is the same when it is read again', () => {
    const memory = full()
    const again = read(writeReceiverState(wren.id, memory))
    expect(again.ok && again.value).toEqual(memory)
    expect(again.ok && startable(again.value)?.version.major).toBe(2)
    expect(read(writeReceiverState(wren.id, blankMemory(wren)))).toMatchObject({ ok: true })
  })

  it('is refused with its place when it is for another type, or damaged', () => {
    const text = writeReceiverState(wren.id, full())
    const heron = types.find(t => t.id === 'tamsin-heron-8') as ReceiverType
    expect(codes(text, heron)).toEqual(['state.other-type typeId'])
    expect(codes(`${text}}`)).toEqual(['state.not-json 2'])
    expect(codes(' '.repeat(MOST_STATE_CHARACTERS + 1))).toEqual(['state.size'])
    const state = JSON.parse(text)
    // Another file of the workbench, named by mistake: one sentence, not one for each field that it lacks.
    for (const other of ['null', '7', '[]', '{}', '{"format":"preflash-dialect","version":1}'])
      expect(codes(other)).toEqual(['state.other-file'])
    expect(codes(JSON.stringify({ ...state, version: 2 }))).toEqual(['state.field version'])
    state.program.pages[1] = 'abc0'
    expect(codes(JSON.stringify(state))).toEqual(['state.size program.pages[1]'])
    state.program.pages[1] = 'xy'
    expect(codes(JSON.stringify(state))).toEqual(['state.field program.pages[1]'])
    state.program.pages = ['']
    expect(codes(JSON.stringify(state))).toEqual(['state.size program.pages'])
  })

  it('never throws, whatever the file is', () => {
    const text = writeReceiverState(wren.id, full())
    fc.assert(
      fc.property(fc.integer({ min: 0, max: text.length - 1 }), fc.string(), (at, put) => {
        read(text.slice(0, at) + put + text.slice(at + 1))
        read(put)
      }),
      { numRuns: 200 },
    )
  })
})
