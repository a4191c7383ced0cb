import { describe, expect, it } from 'vitest'
import { adviceAfterWrite, askedAfterWrite, imageIdOf } from '../../../../renderer/bench/program/hand-over.ts'
import { nextReceiver } from '../../../../renderer/bench/program/LaneEnd.tsx'
import { sheetOf } from '../../../../renderer/bench/program/print.ts'
import { settleAfterWrite } from '../../../../renderer/bench/program/settle.ts'
import { endedSince, keepTone, notesFor, recallTone } from '../../../../renderer/bench/program/tone.ts'
import { freshAsked, type KeptDiagnosis } from '../../../../renderer/diagnose/use-diagnosis.ts'
import { demoBench } from '../../../../shared/demo/bench.ts'
import { diagnose } from '../../../../shared/diagnose/diagnose.ts'
import { diagnosisRequestSchema } from '../../../../shared/diagnose/report.ts'
import { timeSortedId } from '../../../../shared/logbook/session-id.ts'
import { ending, lane } from '../../../support/write-lane.ts'

describe('after a write', () => {
  it('opens the diagnosis with what was seen, and goes on with one of the same trouble', () => {
    const found = { symptom: 'stops', answers: { a: 'yes' } } as const
    const asked = askedAfterWrite('r', found, undefined)
    expect(asked).toMatchObject({ receiverId: 'r', symptom: 'stops', route: 'cable', answers: { a: 'yes' } })
    expect(asked.seenByWrite).toEqual(['a'])
    const before = {
      ...freshAsked('r'),
      ...({ symptom: 'stops', answers: { a: 'no', b: 'no' } } as const),
      lookedAtMs: { a: 2000, b: 2000 },
    } as const
    const session = (atMs: number) => timeSortedId(atMs, new Uint8Array(10))
    const handedOver = (atMs: number) => askedAfterWrite('r', found, before, undefined, session(atMs))
    // What the person has answered since stands; what the write has seen after that is believed. Both are told.
    expect(handedOver(1000)).toMatchObject({
      answers: { a: 'no', b: 'no' },
      seenByWrite: [],
      otherwise: { a: 'yes' },
    })
    expect(handedOver(3000)).toMatchObject({
      answers: { a: 'yes', b: 'no' },
      seenByWrite: ['a'],
      otherwise: { a: 'no' },
    })
    // Of two writes the later is believed; what only the first has seen is still of a write.
    const later = askedAfterWrite('r', { symptom: 'stops', answers: { b: 'no' } }, asked)
    expect(later).toMatchObject({ answers: { a: 'yes', b: 'no' }, seenByWrite: ['a', 'b'] })
    const other = askedAfterWrite('r', { symptom: 'stops', answers: { a: 'no' } }, later)
    expect(other).toMatchObject({ answers: { a: 'no', b: 'no' }, seenByWrite: ['b', 'a'] })
    expect(askedAfterWrite('other', found, before).answers).toEqual({ a: 'yes' })
    expect(askedAfterWrite('r', found, before, 'image').imageId).toBe('image')
    expect(askedAfterWrite('r', { symptom: 'no such', answers: {} }, undefined).symptom).toBeUndefined()
  })

  it('hands over whether what was sent came back, and Diagnose goes by it', () => {
    const bench = demoBench()
    const answers = { 'image-passes': 'yes', 'echo-back': 'no' } as const
    const asked = askedAfterWrite('wren-trainer', { symptom: 'no-answer', answers }, undefined)
    const done = diagnose(diagnosisRequestSchema.parse({ bench, ...asked, tried: [], putOff: [] }))
    if (!done.ok) throw new Error(done.problems[0].message)
    expect(done.value.facts.find(f => f.id === 'echo-back')).toMatchObject({ answer: 'no' })
    expect(done.value.causes[0].members.map(m => m.id)).toEqual(['near-end-open'])
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
        differs: [
          {
            ...{ atMs: 1000, step: 'erase', kind: 'slower', severity: 'look' },
            ...{ expected: '0.1 s', seen: '2.0 s' },
          },
          {
            ...{ atMs: 3000, step: 'erase', kind: 'other-end', severity: 'look' },
            ...{ expected: 'it goes through', seen: 'The receiver gave no answer. It is off.' },
          },
        ],
      }),
      '3 May 2026, 10:00',
    ).map(([, text]) => text)
    const whole = sheet.join(' ')
    expect(whole).toMatch(/; 1 attempt, .*Printed 3 May 2026, 10:00\./)
    const twice = sheetOf(lane({ end: ending({ attempts: 2, retries: 15 }) }), '').map(([, text]) => text)
    expect(twice.join(' ')).toMatch(/; 2 attempts, 14 repeats, 31/)
    expect(sheet).toContain('The port has gone.')
    expect(sheet.find(text => text.startsWith('Checked by ___'))).toBeDefined()
    expect(whole).toMatch(/Next: /)
    expect(sheet).toContain('Type: Wren 6')
    expect(sheet[0]).toBe('Wren in the trainer: Updated')
    expect(sheet).toContain('☐ Check the range.')
    expect(sheet).toContain('1.0 s: Erase, attempt 2, 2.0 s')
    expect(sheet).toContain('Look at this: Slower, Erase. Rehearsed: 0.1 s. Seen: 2.0 s.')
    expect(sheet).toContain(
      'Look at this: Another end, Erase. Rehearsed: it goes through. Seen: The receiver gave no answer. It is off.',
    )
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

describe('a write that goes through after Diagnose had advised something', () => {
  const bench = { ...demoBench(), name: 'My bench' }
  const [failed, later] = ['017f22e2-79b0-7cc3-98c4-dc0c0c07398f', '017f22e3-79b0-7cc3-98c4-dc0c0c07398f']
  const found = {
    symptom: 'write-refused',
    answers: { 'receiver-named': 'yes', 'image-type': 'no' },
  } as const

  /** Diagnose as it stands once it advises a repair. */
  function advised(): KeptDiagnosis {
    const asked = askedAfterWrite('wren-trainer', found, undefined, undefined, failed)
    const done = diagnose(diagnosisRequestSchema.parse({ bench, ...asked, tried: [], putOff: [] }))
    if (!done.ok || done.value.causes.length === 0) throw new Error('no diagnosis')
    const [{ members }] = done.value.causes
    const next = { do: 'repair', members: members.map(m => m.id), label: '', minutes: 1, why: '' } as const
    return { current: { asked, diagnosis: { ...done.value, next: { ...next, members: [...next.members] } } } }
  }
  const written = lane({
    receiver: { id: 'wren-trainer', nickname: 'Wren' },
    sessionId: later,
    end: { ...ending(), outcome: 'updated' },
  })
  const machine = () => {
    const calls: unknown[] = []
    const client = {
      call: async (...said: unknown[]) => {
        calls.push(said)
        return { session: later }
      },
    } as unknown as Parameters<typeof settleAfterWrite>[0]
    return { calls, client }
  }

  it('asks whether it was that, of the same receiver alone, and after the write that failed alone', () => {
    const { current } = advised()
    expect(adviceAfterWrite(current, written)).toMatchObject({ causes: ['image-wrong-type'], isOneOf: false })
    expect(adviceAfterWrite(undefined, written)).toBeUndefined()
    expect(adviceAfterWrite(current, { ...written, sessionId: failed })).toBeUndefined()
    expect(adviceAfterWrite(current, { ...written, receiver: null })).toBeUndefined()
    expect(adviceAfterWrite(current, { ...written, receiver: { id: 'x', nickname: 'X' } })).toBeUndefined()
    for (const outcome of ['unproven', 'failed', 'cancelled'] as const)
      expect(adviceAfterWrite(current, { ...written, end: { ...ending(), outcome } })).toBeUndefined()
  })

  it('is a find by the person’s word, and then not asked about again', async () => {
    const kept = advised()
    const { calls, client } = machine()
    expect(await settleAfterWrite(client, bench, kept, true)).toMatch(/It changes the odds of the next/)
    expect(calls).toMatchObject([
      [
        'diagnose.ended',
        { receiverId: 'wren-trainer', finding: { causes: ['image-wrong-type'], route: 'cable' } },
      ],
    ])
    expect(adviceAfterWrite(kept.current, written)).toBeUndefined()
    expect(kept.current?.asked.helped?.ids).toEqual(['image-wrong-type'])
  })

  it('is none where it was something else', async () => {
    const kept = advised()
    const { calls, client } = machine()
    expect(await settleAfterWrite(client, bench, kept, false)).toBe('')
    expect(calls).toEqual([])
    expect(adviceAfterWrite(kept.current, written)).toBeUndefined()
  })
})
