import { describe, expect, it } from 'vitest'
import { situationOf } from '../../shared/fit/situation.ts'
import { readyImage } from '../../shared/rehearse/image.ts'
import { timesOf } from '../../shared/runbook/durations.ts'
import {
  cautionOf,
  isFedThroughCable,
  plugOf,
  radioFirst,
  socketOf,
  step,
  subjectOf,
} from '../../shared/runbook/subject.ts'
import { smallBench, smallRequest } from '../support/small-bench.ts'

function subject(change: Parameters<typeof smallRequest>[0] = {}) {
  const { bench, receiverId, route, image } = smallRequest(change)
  const s = situationOf(bench, receiverId, route, undefined)!
  const ready = readyImage(bench, s.receiverType, image, false)
  if (!ready.ok) throw new Error(ready.problems[0].message)
  return subjectOf({ ...s, image: ready.value.facts }, ready.value, timesOf([], 0))
}

describe('what the steps are written about', () => {
  it('is the receiver with its own sensors, its plug, and the socket of its radio', () => {
    const of = subject()
    expect(of.sensors.map(sensor => sensor.id)).toEqual(['vario', 'current'])
    expect([plugOf(of)?.id, socketOf(of)?.id]).toEqual(['three-pin', 'three-pin'])
    expect(radioFirst(of)).toBe('Club Tarn')
  })

  it('is fed through the cable only by cable, and only where the bench says so', () => {
    const bench = smallBench()
    expect(isFedThroughCable(subject())).toBe(true)
    expect(isFedThroughCable(subject({ route: 'wireless' }))).toBe(false)
    const own = { ...bench, wiring: { ...bench.wiring, cableFeed: 'own-supply' as const } }
    expect(isFedThroughCable(subject({ bench: own }))).toBe(false)
  })

  it('has no socket where nobody knows the port, and begins a sentence with “The radio” where there is none', () => {
    const bench = smallBench()
    const radioTypes = bench.catalogue.radioTypes.map(t => ({ ...t, updatePort: 'unknown' as const }))
    const of = subject({ bench: { ...bench, catalogue: { ...bench.catalogue, radioTypes } } })
    expect(socketOf(of)).toBeUndefined()
    expect(radioFirst({ ...of, s: { ...of.s, radio: undefined } })).toBe('The radio')
  })

  it('has the cautions of the rehearsal, those of the cable by cable only', () => {
    expect(cautionOf(subject(), 'one-supply')).toMatch(/no pack/)
    expect(cautionOf(subject({ route: 'wireless' }), 'one-supply')).toBeUndefined()
  })

  it('leaves a caution out of a step that has none, and goes on from the step itself', () => {
    const given = {
      id: 'a',
      part: 'card',
      text: 'Do it.',
      expect: 'Done.',
      sure: 'Look.',
      others: [],
    } as const
    const made = step({ ...given, others: [], caution: undefined })
    expect(Object.keys(made)).not.toContain('caution')
    expect(made).toMatchObject({ again: 'a', rehearsedMs: 0, handsMs: 0, facts: {} })
  })
})
