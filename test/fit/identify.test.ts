import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { observations, possibleTypes, speaksFor, typeLabel, withSeen } from '../../shared/fit/identify.ts'
import { factOf, LOOKS } from '../../shared/fit/looks.ts'
import type { Bench } from '../../shared/model/bench.ts'
import type { ReceiverType } from '../../shared/model/catalogue.ts'
import { nothingSeen, type Seen } from '../../shared/model/looks.ts'
import { bandMegahertz, UNKNOWN } from '../../shared/model/units.ts'

const bench = demoBench()
const receiverOf = (on: Bench) => on.receivers.find(r => r.id === 'flea-market')!
const seen = (more: Partial<Seen>, on = bench) => withSeen(on, receiverOf(on), more)
const possible = (on: Bench) => possibleTypes(on, receiverOf(on)).possible.map(t => t.id)
const withType = (change: Partial<ReceiverType>): Bench => ({
  ...bench,
  catalogue: {
    ...bench.catalogue,
    receiverTypes: bench.catalogue.receiverTypes.map(t =>
      t.id === 'aldwick-wren-6' ? { ...t, ...change } : t,
    ),
  },
})

describe('which types a receiver without markings may be of', () => {
  it('is every type while nothing was looked at', () => {
    expect(possible(bench)).toEqual(bench.catalogue.receiverTypes.map(t => t.id))
    expect(observations(bench, receiverOf(bench))).toEqual([])
  })

  it('leaves out what has something else, and says so in a sentence', () => {
    const next = seen({ outputs: 6, antennaCount: 2 })
    expect(possible(next)).toEqual(['aldwick-wren-6', 'tamsin-heron-8'])
    const { excluded } = possibleTypes(next, receiverOf(next))
    expect(excluded.find(e => e.type.id === 'aldwick-finch-4')).toMatchObject({
      because: 'Aldwick Finch 4 has 4 servo outputs and has 1 antenna; seen: 6 servo outputs, 2 antennas.',
      by: ['outputs', 'antennaCount'],
    })
  })

  it.each(LOOKS.map(look => look.name))('says in words what was seen of %s, and what a type has', name => {
    const look = LOOKS.find(l => l.name === name)!
    const types = bench.catalogue.receiverTypes
    for (const { value } of look.choices(types, bench.catalogue)) {
      const next = seen(look.read(value))
      const [observation] = observations(next, receiverOf(next))
      expect(observation.fact).toBe(factOf(name))
      expect(observation.label).not.toMatch(/undefined|NaN|unknown/)
      for (const { because, by } of possibleTypes(next, receiverOf(next)).excluded) {
        expect(by).toEqual([name])
        expect(because).not.toMatch(/undefined|NaN|unknown/)
      }
    }
  })

  it('never rules a type out by what it does not state', () => {
    const silent = withType({ looks: undefined })
    for (const outputs of [0, 4, 6, 64])
      expect(possible(seen({ outputs, antennaKind: 'stub', lengthMillimetres: 200 }, silent))).toContain(
        'aldwick-wren-6',
      )
  })

  it('gives a length some play', () => {
    expect(possible(seen({ lengthMillimetres: 54 }))).toEqual(['tamsin-heron-8', 'tamsin-curlew-12'])
    expect(possible(seen({ lengthMillimetres: 54, withinMillimetres: 1 }))).toEqual(['tamsin-curlew-12'])
    expect(possible(seen({ lengthMillimetres: 45 }))).toEqual(['aldwick-wren-6'])
    expect(possible(seen({ lengthMillimetres: 46 }))).toEqual([])
  })

  it('reads the band off a bared end only where a type has one', () => {
    // A quarter of a wave at the speed of light, c / 4f: 31 mm in the middle of 2.4 GHz, 82 to 86 mm below 1 GHz.
    const quarterMillimetres = (megahertz: number) => 299_792.458 / megahertz / 4
    expect(quarterMillimetres(bandMegahertz['2.4GHz'])).toBeCloseTo(30.7, 1)
    expect(quarterMillimetres(bandMegahertz['868MHz'])).toBeCloseTo(86.5, 1)
    expect(quarterMillimetres(bandMegahertz['915MHz'])).toBeCloseTo(81.9, 1)
    // The Curlew's sleeves say nothing; the others are for 2.4 GHz.
    expect(possible(seen({ antennaTip: 'long' }))).toEqual(['tamsin-curlew-12'])
    expect(possible(seen({ antennaTip: 'short' }))).toHaveLength(6)
  })

  it('says which of the things seen stands in the way where nothing is left', () => {
    const odd = seen({ outputs: 4, antennaKind: 'wire', lengthMillimetres: 90 })
    expect(possible(odd)).toEqual([])
    const [outputs, kind, length] = observations(odd, receiverOf(odd))
    expect(length.wouldAllow.map(typeLabel)).toEqual(['Aldwick Finch 4'])
    expect([outputs.wouldAllow, kind.wouldAllow]).toEqual([[], []])
    expect(possible(length.takenBack)).toEqual(['aldwick-finch-4'])
  })

  it('takes things back in any order, until nothing was seen', () => {
    let next = seen({ outputs: 6, antennaCount: 2, band: '2.4GHz' })
    for (const name of ['antennaCount', 'band', 'outputs'] as const)
      next = observations(next, receiverOf(next)).find(o => o.name === name)!.takenBack
    expect(receiverOf(next).seen).toBeUndefined()
    expect(next.receivers).toEqual(bench.receivers)
  })

  it('knows what speaks for a type', () => {
    const next = seen({ outputs: 6, antennaTip: 'short', band: UNKNOWN })
    const wren = bench.catalogue.receiverTypes.find(t => t.id === 'aldwick-wren-6')!
    expect(speaksFor(next, receiverOf(next), wren)).toEqual(['6 servo outputs', 'antenna about 3 cm bared'])
    expect(speaksFor(bench, receiverOf(bench), wren)).toEqual([])
    expect(receiverOf(seen(nothingSeen)).seen).toBeUndefined()
  })
})
