import { describe, expect, it } from 'vitest'
import { linksOf, litBy } from '../../../renderer/diagnose/Lines.tsx'
import { headingOf, summaryOf, summaryText } from '../../../renderer/diagnose/summary.ts'
import {
  causeName,
  disputeWords,
  minuteWords,
  percentWords,
  sortFacts,
  sourceWords,
  symptomGroups,
} from '../../../renderer/diagnose/words.ts'
import { demoBench } from '../../../shared/demo/bench.ts'
import { diagnose } from '../../../shared/diagnose/diagnose.ts'
import { modelTable } from '../../../shared/diagnose/model.ts'
import { type Answer, SYMPTOMS, type SymptomId } from '../../../shared/diagnose/report.ts'

const bench = demoBench()
const receiverId = 'wren-trainer'
const tables = {
  cable: modelTable(bench, receiverId, 'cable'),
  wireless: modelTable(bench, receiverId, 'wireless'),
}
function ask(symptom: SymptomId, answers: Record<string, Answer> = {}) {
  const route = symptom === 'not-offered' ? 'wireless' : 'cable'
  const request = { bench, receiverId, symptom, answers, tried: [], putOff: [], counts: {}, secondTries: [] }
  const done = diagnose({ ...request, route }, { table: tables[route] })
  if (!done.ok) throw new Error('no diagnosis')
  return done.value
}

describe('what the screen of a diagnosis says', () => {
  it('offers every symptom once', () => {
    expect(symptomGroups.flatMap(g => g.symptoms).sort()).toEqual([...SYMPTOMS].sort())
  })

  it('does not call certain what is not', () => {
    expect([1, 0.9985, 0.424, 0.004].map(percentWords)).toEqual(['100 %', '99 %', '42 %', 'below 1 %'])
    expect([1, 3].map(minuteWords)).toEqual(['1 minute', '3 minutes'])
  })

  it('sorts facts by who answered, each in one place, what is asked now apart', () => {
    const { facts } = ask('not-offered', { 'module-on': 'cannot-check', 'module-region': 'no' })
    const { next, byYou, byBench, open } = sortFacts(facts, 'radio-battery')
    expect(next?.id).toBe('radio-battery')
    expect(byYou.map(f => f.id).sort()).toEqual(['module-on', 'module-region'])
    expect(1 + byYou.length + byBench.length + open.length).toBe(facts.length)
  })

  it('keeps what a write has seen apart from what the person has answered', () => {
    const { facts } = ask('no-answer', { 'echo-back': 'no', 'line-quiet': 'yes' })
    const { byYou, byWrite } = sortFacts(facts, undefined, ['echo-back'])
    expect(byWrite.map(f => f.id)).toEqual(['echo-back'])
    expect(byYou.map(f => f.id)).toEqual(['line-quiet'])
    const seen = ask('not-offered', { 'module-region': 'no' }).facts.find(f => f.id === 'module-region')!
    expect(sourceWords(seen, true)).toBe('The write saw it otherwise than the bench, which says yes.')
    const quiet = ask('no-answer', { 'line-quiet': 'no' })
    const text = summaryText(summaryOf(quiet, [], [], { seenByWrite: ['line-quiet'], otherwise: {} }))
    expect(text).toContain('Do all sensors go quiet when the update begins? No (seen by the write).')
    expect(text).not.toContain('(by you)')
    const otherwise = { 'line-quiet': 'yes' } as const
    const said = (seenByWrite: string[]) => summaryText(summaryOf(quiet, [], [], { seenByWrite, otherwise }))
    expect(said(['line-quiet'])).toContain('No (seen by the write; before, you said the opposite).')
    expect(said([])).toContain('No (by you; before, the write saw the opposite).')
    expect(disputeWords(true)).toMatch(/You had answered the opposite/)
    expect(disputeWords(false)).toMatch(/The write saw the opposite/)
  })

  it('says where the bench is overruled, and where it is not taken at its word', () => {
    const { facts } = ask('not-offered', { 'module-region': 'no' })
    const say = (id: string) => sourceWords(facts.find(f => f.id === id)!)
    expect(say('module-region')).toBe('You overrule the bench, which says yes.')
    expect(say('radio-battery')).toBe('As written down, the bench says yes; look to be sure.')
    expect(say('module-band')).toBe('')
  })

  it('draws a line only where a fact shows a cause, and marks those that explain an answer', () => {
    const d = ask('no-answer', { 'line-quiet': 'no' })
    const links = linksOf(d)
    for (const { cause, fact } of links) {
      const ids = cause.split('+')
      expect(d.shows.some(s => s.fact === fact && ids.includes(s.cause))).toBe(true)
    }
    expect(links.filter(l => l.explains).map(l => l.fact)).toContain('line-quiet')
    expect(litBy(links, { kind: 'fact', id: 'line-quiet' })).toContain('chatty-sensor')
    expect(litBy(links, { kind: 'cause', id: 'chatty-sensor' })).toContain('line-quiet')
    expect(litBy(links, undefined).size).toBe(0)
  })

  it('sums up what it was, what was asked, what was tried, and what is due before a flight', () => {
    const d = ask('no-answer', { 'line-quiet': 'no' })
    const one = summaryOf(d, ['chatty-sensor'], ['The card is full'])
    expect(headingOf(one)).toBe('It was: A sensor goes on talking on the telemetry bus')
    const text = summaryText(one)
    expect(text).toContain('Do all sensors go quiet when the update begins? No (by you).')
    expect(text).toContain('without effect: The card is full.')
    expect(text).toMatch(/failsafe.*range check/)
    const both = summaryOf(ask('no-answer'), ['signal-wire-open', 'chatty-sensor'], [])
    expect(headingOf(both)).toMatch(/^It was one of these: .*; /)
  })

  it('names two causes in one sentence', () => {
    const d = ask('no-answer', { 'line-quiet': 'no', 'signal-wire': 'no', 'with-another-cable': 'no' })
    expect(causeName(d.causes[0])).toMatch(/ and (a sensor|the signal wire)/)
  })
})
