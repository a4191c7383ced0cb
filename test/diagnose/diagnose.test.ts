import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { diagnose, readingsOf, routeOf } from '../../shared/diagnose/diagnose.ts'
import { explain, whyLook, whyRepair } from '../../shared/diagnose/explain.ts'
import { modelSymptom, modelTable, type TableModel } from '../../shared/diagnose/model.ts'
import {
  type DiagnosisRequest,
  diagnosisRequestSchema,
  diagnosisSchema,
  SYMPTOMS,
} from '../../shared/diagnose/report.ts'
import { twinOf } from '../../shared/diagnose/twin.ts'
import { symptomWords } from '../../shared/diagnose/words.ts'
import { withUnit } from '../../shared/fit/rule.ts'

const bench = demoBench()
const request = (change: Partial<DiagnosisRequest> = {}): DiagnosisRequest => ({
  bench,
  receiverId: 'wren-trainer',
  symptom: 'not-offered',
  answers: {},
  tried: [],
  putOff: [],
  counts: {},
  secondTries: [],
  ...change,
})
/** A table is the same for every bench with the same twin; to model one takes longest. */
const tables = new Map<string, TableModel | undefined>()
function tableOf(asked: DiagnosisRequest) {
  const route = routeOf(asked)
  const key = JSON.stringify(twinOf(asked.bench, asked.receiverId, route))
  if (!tables.has(key)) tables.set(key, modelTable(asked.bench, asked.receiverId, route))
  return tables.get(key)
}
function ask(change: Partial<DiagnosisRequest> = {}) {
  const asked = diagnosisRequestSchema.parse(request(change))
  const done = diagnose(asked, { table: tableOf(asked) })
  if (!done.ok) throw new Error(done.problems.map(p => p.message).join(' '))
  return diagnosisSchema.parse(done.value)
}
const first = (d: ReturnType<typeof ask>) => d.causes[0].members.map(m => m.id)

describe('a diagnosis', () => {
  it('has causes, a next step and words for every symptom, by every route that it can come by', () => {
    for (const symptom of SYMPTOMS)
      for (const route of symptomWords[symptom].routes) {
        const d = ask({ symptom, route })
        expect(d.route).toBe(route)
        expect(d.causes.length).toBeGreaterThan(0)
        const total = d.causes.reduce((sum, c) => sum + c.likelihood, 0)
        expect(total).toBeLessThanOrEqual(1 + 1e-9)
        for (const cause of d.causes) expect(cause.explanation.join(' ')).toContain('that is what was seen')
        expect(d.next.why.length).toBeGreaterThan(10)
      }
  })

  it('takes what the bench knows for an answer, says where it comes from, and lets itself be overruled', () => {
    const d = ask()
    const region = d.facts.find(f => f.id === 'module-region')
    expect(region).toMatchObject({ answer: 'yes', from: 'bench', benchSays: 'yes' })
    const over = ask({ answers: { 'module-region': 'no' } })
    expect(over.facts.find(f => f.id === 'module-region')).toMatchObject({
      answer: 'no',
      from: 'you',
      benchSays: 'yes',
    })
    expect(first(over)).toEqual(['module-region'])
  })

  it('finds what is wrong on the bench by itself', () => {
    const older = withUnit(bench, 'modules', 'inner-tarn', { firmware: '3.0.0' })
    const d = ask({ bench: older })
    expect(first(d)).toEqual(['module-too-old'])
    expect(d.causes[0].likelihood).toBeGreaterThan(0.9)
    expect(d.causes[0].explanation.join(' ')).toContain("module's 3.0.0 is too old")
  })

  it('knows from the versions on the bench whether the module is too old or too new', () => {
    const d = ask({ bench: withUnit(bench, 'modules', 'inner-tarn', { firmware: '9.0.0' }) })
    expect(first(d)).toEqual(['module-too-new'])
    const says = (id: string) => d.facts.find(f => f.id === id)
    expect(says('module-not-too-old')).toMatchObject({ answer: 'yes', from: 'bench' })
    expect(says('module-not-too-new')).toMatchObject({ answer: 'no', from: 'bench' })
    expect(d.causes.flatMap(c => (c.likelihood > 0.05 ? c.members.map(m => m.id) : []))).toEqual([
      'module-too-new',
    ])
  })

  it('finds on the bench that another image has to go in first', () => {
    const image = bench.images.find(i => i.id === 'wren-6-2.4.0')!
    const images = [{ ...image, id: 'late', version: '9.0.0', receiverFirmware: '>=8.0.0' }]
    for (const [symptom, route] of [
      ['not-offered', 'wireless'],
      ['write-refused', 'cable'],
    ] as const) {
      const d = ask({ bench: { ...bench, images }, symptom, route, imageId: 'late' })
      expect(first(d), symptom).toEqual(['image-needs-step'])
      expect(d.causes[0].explanation.join(' ')).toContain('goes on firmware >=8.0.0 only')
    }
  })

  it('finds on the bench that module and image do not go together, and which of both is behind', () => {
    const image = bench.images.find(i => i.id === 'wren-6-2.4.0')!
    const found = (moduleFirmware: string, route: 'cable' | 'wireless') =>
      ask({
        bench: { ...bench, images: [{ ...image, id: 'other', moduleFirmware }] },
        symptom: 'no-bind',
        route,
        imageId: 'other',
      })
    expect(first(found('>=9.0.0', 'wireless'))).toEqual(['module-behind-image'])
    expect(first(found('<2.0.0', 'cable'))).toEqual(['image-behind-module'])
    expect(found('>=9.0.0', 'cable').causes[0].explanation.join(' ')).toContain(
      'once the module runs >=9.0.0',
    )
  })

  it('does not take for known what the bench only once wrote down: a voltage, a distance', () => {
    const battery = ask().facts.find(f => f.id === 'radio-battery')
    expect(battery).toMatchObject({ answer: null, from: null, benchSays: 'yes' })
  })

  it('names two causes where two answers need them', () => {
    const d = ask({
      symptom: 'no-answer',
      answers: { 'line-quiet': 'no', 'signal-wire': 'no', 'with-another-cable': 'no' },
    })
    expect(first(d).sort()).toEqual(['chatty-sensor', 'signal-wire-open'])
  })

  it('looks at the near end where nothing comes back of what is sent, and beyond it where it does', () => {
    const odds = (answers: Record<string, 'yes' | 'no'>) => {
      const { causes } = ask({ symptom: 'no-answer', answers })
      return (id: string) =>
        causes.reduce((sum, c) => sum + (c.members.some(m => m.id === id) ? c.likelihood : 0), 0)
    }
    const [unseen, silent, heard] = [odds({}), odds({ 'echo-back': 'no' }), odds({ 'echo-back': 'yes' })]
    for (const near of ['near-end-open', 'near-end-deaf']) {
      expect(silent(near)).toBeGreaterThan(2 * unseen(near))
      expect(heard(near)).toBeLessThan(unseen(near) / 2)
    }
    for (const beyond of ['signal-wire-open', 'chatty-sensor']) {
      expect(silent(beyond)).toBeLessThan(unseen(beyond) / 2)
      expect(heard(beyond)).toBeGreaterThan(unseen(beyond))
    }
    const told = ask({ symptom: 'no-answer', answers: { 'echo-back': 'no' } })
    expect(told.facts.find(f => f.id === 'echo-back')).toMatchObject({ answer: 'no' })
    expect(first(told)).toEqual(['near-end-open'])
  })

  it('says which answer it would have to doubt', () => {
    const answers = { 'line-quiet': 'yes', 'signal-wire': 'yes', 'echo-back': 'yes' } as const
    const d = ask({ symptom: 'no-answer', answers })
    // Noise on the line is the one thing that these answers leave standing.
    const others = d.causes.filter(({ members }) => members.every(m => m.id !== 'line-noise'))
    expect(others.length).toBeGreaterThan(1)
    for (const cause of others) expect(cause.doubts.length).toBeGreaterThan(0)
    expect(others[0].explanation.join(' ')).toContain('answered wrongly')
  })

  it('does not ask again for what cannot be checked', () => {
    const before = ask()
    if (before.next.do !== 'look') throw new Error('there is nothing to look at')
    const { fact } = before.next
    const after = ask({ answers: { [fact]: 'cannot-check' } })
    expect(after.next.do === 'look' && after.next.fact).not.toBe(fact)
    expect(readingsOf(after.facts).has(fact)).toBe(false)
  })

  it('offers the next best thing for a repair that cannot be done now, keeps it in mind, and takes it back', () => {
    const known = {
      symptom: 'no-answer',
      answers: { 'line-quiet': 'no', 'with-another-cable': 'no' },
    } as const
    const offered = ask(known)
    expect(offered.next).toMatchObject({ do: 'repair', members: ['chatty-sensor'] })
    const after = ask({ ...known, putOff: ['chatty-sensor'] })
    expect(first(after)).toEqual(['chatty-sensor'])
    expect(after.causes[0].likelihood).toBe(offered.causes[0].likelihood)
    expect(after.next).not.toEqual(offered.next)
    if (after.next.do === 'repair') expect(after.next.members).not.toContain('chatty-sensor')
    expect(ask({ ...known, putOff: [] }).next).toEqual(offered.next)
  })

  it('comes to an end when everything is put off, and says what it waits for', () => {
    const putOff: string[] = []
    const answers: Record<string, 'cannot-check'> = {}
    for (let step = 0; step < 80; step++) {
      const { next } = ask({ symptom: 'no-answer', putOff, answers })
      if (next.do === 'look') answers[next.fact] = 'cannot-check'
      else if (next.do === 'repair') {
        expect(putOff).not.toEqual(expect.arrayContaining([next.members[0]]))
        putOff.push(...next.members)
      } else {
        expect(next.why).toContain('cannot be put right now: “A sensor goes on talking')
        expect(putOff.length).toBeGreaterThan(1)
        return
      }
    }
    expect.fail('it does not come to an end')
  })

  it('asks for a second look where much hangs on one answer, but only where it can be told of it', () => {
    const unsure = { symptom: 'dead', route: 'cable', answers: { 'one-supply': 'no' } } as const
    const again = (change: Partial<DiagnosisRequest>) => {
      const { next } = ask({ ...unsure, ...change })
      return next.do === 'look' && next.again ? next : undefined
    }
    // A new receiver for a slip of the memory: that is worth thinking back twice.
    expect(again({ confirmed: [] })).toMatchObject({ fact: 'one-supply' })
    expect(again({ confirmed: [] })?.why).toContain('a slip there is possible')
    expect(again({})).toBeUndefined()
    expect(again({ confirmed: ['one-supply'] })?.fact).not.toBe('one-supply')
  })

  it('listens to the logbook', () => {
    const without = ask({ symptom: 'no-telemetry' })
    const counts = { 'antenna-damaged': 500 }
    expect(first(without)).toEqual(['telemetry-off'])
    expect(first(ask({ symptom: 'no-telemetry', counts }))).toEqual(['antenna-damaged'])
  })

  it('comes to an end: following its advice finds and repairs each cause that there is', () => {
    for (const symptom of [
      'not-offered',
      'not-found',
      'no-answer',
      'stops',
      'dead',
      'write-refused',
    ] as const) {
      const route = routeOf({ symptom })
      const table = modelTable(bench, 'wren-trainer', route)
      const model = modelSymptom(table!, symptom)
      for (const hidden of model.shows) {
        const answers: Record<string, 'yes' | 'no'> = {}
        const tried: string[] = []
        for (let step = 0; step < 40 && !tried.includes(hidden); step++) {
          const done = diagnose(request({ symptom, answers, tried, bench: unknownBench }), { table })
          const next = done.ok ? done.value.next : undefined
          if (next?.do === 'look') {
            const { spec, shows } = model.facts.find(f => f.spec.id === next.fact)!
            answers[next.fact] = shows.includes(hidden) === (spec.sound === 'yes') ? 'no' : 'yes'
          } else if (next?.do === 'repair') tried.push(...next.members)
          else break
        }
        expect(tried, `${symptom}: ${hidden}, after ${JSON.stringify(answers)}`).toContain(hidden)
      }
    }
  })

  it('says kindly what it cannot be asked about', () => {
    expect(diagnose(request({ receiverId: 'nobody' }))).toMatchObject({
      ok: false,
      problems: [{ code: 'bench.no-receiver' }],
    })
    expect(diagnose(request({ receiverId: 'flea-market' })).ok).toBe(false)
    expect(diagnose(request({ answers: { 'modul-on': 'yes' } }))).toMatchObject({
      ok: false,
      problems: [{ code: 'diagnose.fact', field: 'answers', remedy: expect.stringContaining('module-on') }],
    })
    expect(diagnose(request({ counts: { 'cause-of-old': 3 } })).ok).toBe(true)
    expect(diagnose(request({ imageId: 'no-such-image' }))).toMatchObject({
      ok: false,
      problems: [{ code: 'image.unknown' }],
    })
  })
})

/** A bench that knows nothing of module and receiver, so that everything has to be asked. */
const unknownBench = withUnit(
  withUnit(bench, 'modules', 'inner-tarn', { firmware: 'unknown', region: 'unknown', generation: 'unknown' }),
  'receivers',
  'wren-trainer',
  { firmware: 'unknown', region: 'unknown', generation: 'unknown', hardwareRevision: 'unknown' },
)

describe('the words of an explanation', () => {
  it('say what a look would tell apart, and why to repair now', () => {
    const model = modelSymptom(modelTable(bench, 'wren-trainer', 'cable')!, 'no-answer')
    const d = ask({ symptom: 'no-answer' })
    expect(whyLook(model, 'line-quiet', d.causes, 4)).toMatch(
      /^It tells “A sensor.*from “The signal wire.*4 minutes/,
    )
    expect(whyRepair(['chatty-sensor'], d.causes)).toMatch(/likelihood of \d+ %/)
    expect(explain(model, [], d.facts, [], () => '')).not.toContain('undefined')
  })
})
