import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { findCause } from '../../shared/diagnose/causes.ts'
import { FACTS, findFact } from '../../shared/diagnose/facts.ts'
import { type HiddenFaults, hideFaults, type Placed, placeOn } from '../../shared/diagnose/hide.ts'
import { modelSymptom, modelTable } from '../../shared/diagnose/model.ts'
import { twinOf } from '../../shared/diagnose/twin.ts'

const bench = demoBench()
const ID = 'wren-trainer'
const hide = (seed: number, options = {}): HiddenFaults => {
  const hidden = hideFaults(bench, ID, seed, options)
  if (hidden === undefined) throw new Error('nothing could be hidden')
  return hidden
}
const tables = {
  cable: modelTable(bench, ID, 'cable')!,
  wireless: modelTable(bench, ID, 'wireless')!,
}
const seeds = Array.from({ length: 60 }, (_, i) => i)
const asked = (h: HiddenFaults) => FACTS.filter(f => f.routes.includes(h.route)).map(f => h.ask(f.id))

describe('hidden faults', () => {
  it('are the same for the same seed, and others for others', () => {
    const told = (h: HiddenFaults) => [h.route, h.symptom, h.truth, asked(h)]
    for (const seed of seeds.slice(0, 10))
      expect(told(hide(seed, { lies: 0.2 }))).toEqual(told(hide(seed, { lies: 0.2 })))
    expect(new Set(seeds.map(seed => hide(seed).truth.join())).size).toBeGreaterThan(20)
  })

  it('are as many as asked for, by the route asked for, and bring the symptom about', () => {
    for (const seed of seeds) {
      const faults = seed % 2 === 0 ? 1 : 2
      const route = seed % 3 === 0 ? ('cable' as const) : ('wireless' as const)
      const h = hide(seed, { faults, route })
      expect(h.route).toBe(route)
      expect(new Set(h.truth).size).toBe(faults)
      for (const id of h.truth) expect(findCause(id)?.routes).toContain(route)
      expect(h.after([])).toBe(h.symptom)
      expect(h.after(h.truth)).toBe('none')
      const { shows } = modelSymptom(tables[route], h.symptom)
      if (faults === 1) expect(shows).toContain(h.truth[0])
    }
  })

  it('answer as a session does that is carried out with all of them in place', () => {
    const placed = ['signal-wire-open', 'module-off'].map(placedById)
    const table = placeOn(twinOf(bench, ID, 'cable')!, placed, 1)!
    expect(table.seen.symptom).toBe('no-answer')
    const reading = (id: string) => table.reading(findFact(id)!)
    expect(reading('module-on')).toBe('unsound')
    expect(reading('signal-wire')).toBe('unsound')
    // With another cable the update goes through, but then the module is off: it does not bind.
    expect(reading('with-another-cable')).toBe('unsound')
    expect(table.without(cause => cause.part === 'cable')).toBe('no-bind')
    const alone = placeOn(twinOf(bench, ID, 'cable')!, placed.slice(0, 1), 1)!
    expect(alone.reading(findFact('with-another-cable')!)).toBe('sound')
  })

  it('does not put together what cannot be there together', () => {
    const twin = twinOf(bench, ID, 'wireless')!
    expect(placeOn(twin, ['module-too-old', 'module-too-new'].map(placedById), 1)).toBeUndefined()
    expect(placeOn(twin, ['supply-missing', 'supply-too-low'].map(placedById), 1)).toBeUndefined()
  })

  it('lie as often as is said, each look for itself, and never where they are not to', () => {
    const lies = { said: 0, looks: 0 }
    for (const seed of seeds) {
      const honest = hide(seed)
      const liar = hide(seed, { lies: 0.05 })
      expect(liar.truth).toEqual(honest.truth)
      for (const { id, sound, routes } of FACTS) {
        if (!routes.includes(honest.route)) continue
        const isSound = (answer: string) => answer === sound
        expect(isSound(honest.ask(id))).toBe(honest.reading(id) === 'sound')
        for (let look = 0; look < 3; look++) {
          lies.looks++
          if (isSound(liar.ask(id)) !== (liar.reading(id) === 'sound')) lies.said++
        }
      }
    }
    // Four standard deviations of a binomial distribution about its mean.
    const deviation = Math.sqrt(lies.looks * 0.05 * 0.95)
    expect(Math.abs(lies.said - lies.looks * 0.05)).toBeLessThan(4 * deviation)
  })

  it('are not there without the receiver, and know no fact that there is not', () => {
    expect(hideFaults(bench, 'nobody', 1)).toBeUndefined()
    expect(() => hide(1).ask('no-such-fact')).toThrow(RangeError)
  })
})

function placedById(id: string): Placed {
  const cause = findCause(id)
  if (cause === undefined) throw new Error(id)
  return { cause, put: cause.variants[0] }
}
