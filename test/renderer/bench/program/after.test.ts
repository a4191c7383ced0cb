import { describe, expect, it } from 'vitest'
import { askedAfterWrite, imageIdOf } from '../../../../renderer/bench/program/hand-over.ts'
import { nextReceiver } from '../../../../renderer/bench/program/LaneEnd.tsx'
import { sheetOf } from '../../../../renderer/bench/program/print.ts'
import { endedSince, keepTone, notesFor, recallTone } from '../../../../renderer/bench/program/tone.ts'
import { freshAsked } from '../../../../renderer/diagnose/use-diagnosis.ts'
import { demoBench } from '../../../../shared/demo/bench.ts'
import { ending, lane } from '../../../support/write-lane.ts'

describe('after a write', () => {
  it('opens the diagnosis with what was seen, and goes on with one of the same trouble', () => {
    const found = { symptom: 'stops', answers: { a: 'yes' } } as const
    const asked = askedAfterWrite('r', found, undefined)
    expect(asked).toMatchObject({ receiverId: 'r', symptom: 'stops', route: 'cable', answers: { a: 'yes' } })
    const before = { ...freshAsked('r'), symptom: 'stops', answers: { a: 'no', b: 'no' } } as const
    // What the person has answered there stands.
    expect(askedAfterWrite('r', found, before).answers).toEqual({ a: 'no', b: 'no' })
    expect(askedAfterWrite('other', found, before).answers).toEqual({ a: 'yes' })
    expect(askedAfterWrite('r', found, before, 'image').imageId).toBe('image')
    expect(askedAfterWrite('r', { symptom: 'no such', answers: {} }, undefined).symptom).toBeUndefined()
  })

  it('knows which image of the bench it was, and that of no bench as none', () => {
    const bench = demoBench()
    const [image] = bench.images
    const said = { name: image.name, version: String(image.version), bytes: 1 }
    expect(imageIdOf(bench, said)).toBe(image.id)
    expect(imageIdOf(bench, { ...said, name: 'my.hex' })).toBeUndefined()
    expect(imageIdOf(undefined, said)).toBeUndefined()
  })

  it('offers the next receiver of the same type, round the bench', () => {
    const bench = demoBench()
    const typeOf = (id: string | undefined) => bench.receivers.find(r => r.id === id)?.typeId
    const first = nextReceiver(bench, 'wren-trainer')
    expect(first?.id).not.toBe('wren-trainer')
    expect(typeOf(first?.id)).toBe(typeOf('wren-trainer'))
    const alone = { ...bench, receivers: bench.receivers.filter(r => r.id === 'wren-trainer') }
    expect(nextReceiver(alone, 'wren-trainer')).toBeUndefined()
    expect(nextReceiver(bench, 'gone')).toBeUndefined()
    // One that runs it already needs no write.
    const done = bench.receivers.map(r => (r.id === first?.id ? { ...r, firmware: '9.9.9' } : r))
    const after = nextReceiver({ ...bench, receivers: done }, 'wren-trainer', '9.9.9')
    expect(after?.id).not.toBe(first?.id)
    expect(typeOf(after?.id)).toBe(typeOf('wren-trainer'))
  })

  it('prints what was done, what came of it, and what is still to be done', () => {
    const sheet = sheetOf(
      lane({
        end: ending({
          attempts: 1,
          text: 'The port has gone.',
          identity: [{ label: 'Type', value: 'Wren 6' }],
        }),
        steps: [{ step: 'erase', attempt: 2, startMs: 1000, endMs: 3000 }],
      }),
      '3 May 2026, 10:00',
    ).map(([, text]) => text)
    const whole = sheet.join(' ')
    expect(whole).toMatch(/; 1 attempt, .*Printed 3 May 2026, 10:00\./)
    expect(sheet).toContain('The port has gone.')
    expect(sheet).toContain('Type: Wren 6')
    expect(sheet[0]).toBe('Wren in the trainer: Updated')
    expect(sheet).toContain('☐ Check the range.')
    expect(sheet).toContain('1.0 s: Erase, attempt 2, 2.0 s')
    expect(sheetOf(lane(), '')).toEqual([])
  })

  it('sounds once for what has ended, higher and rising where it went well', () => {
    const lanes = [
      lane({ lane: 'a', end: ending() }),
      lane({ lane: 'b' }),
      lane({ lane: 'c', end: ending() }),
    ]
    expect(endedSince(new Set(['a']), lanes).map(l => l.lane)).toEqual(['c'])
    const good = notesFor(true).map(n => n.hertz)
    expect(good).toEqual(good.toSorted((a, b) => a - b))
    expect(Math.max(...notesFor(false).map(n => n.hertz))).toBeLessThan(Math.min(...good))
  })

  it('remembers whether it may sound', () => {
    const kept = new Map<string, string>()
    const memory = {
      getItem: (name: string) => kept.get(name) ?? null,
      setItem: (name: string, value: string) => void kept.set(name, value),
    }
    expect(recallTone(memory)).toBe(true)
    keepTone(memory, false)
    expect(recallTone(memory)).toBe(false)
  })
})
