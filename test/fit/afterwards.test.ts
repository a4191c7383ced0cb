import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { afterwardsFor } from '../../shared/fit/afterwards.ts'
import { builtFacts } from '../../shared/fit/built-facts.ts'
import { situationOf } from '../../shared/fit/situation.ts'

const bench = demoBench()
function textFor(receiverId: string, imageId: string): string {
  const image = bench.images.find(i => i.id === imageId)
  const s = image && situationOf(bench, receiverId, 'cable', builtFacts(image, undefined))
  if (s === undefined) throw new Error('not on the demo')
  return afterwardsFor(s).join(' ')
}

describe('what is to be done again afterwards', () => {
  it('is failsafe, outputs and range check, always, and no flight before', () => {
    for (const { id } of bench.images) {
      const text = textFor('wren-trainer', id)
      expect(text).toMatch(/failsafe again and test it/)
      expect(text).toMatch(/direction of each surface/)
      expect(text).toMatch(/Range check at reduced power/)
      expect(text).toMatch(/No flight before/)
    }
  })

  it('is binding again where the generation changes, a look at it otherwise', () => {
    const conversion = bench.images.find(i => i.convertsFrom !== undefined)!
    expect(textFor('heron-biplane', conversion.id)).toMatch(/Bind again: .*another generation/)
    expect(textFor('wren-trainer', 'wren-6-2.4.0')).toMatch(/still bound/)
  })

  it('is every setting where one goes back, and the whole set-up of a new receiver', () => {
    expect(textFor('wren-glider', 'wren-6-2.1.0')).toMatch(/older firmware may not keep/)
    expect(textFor('wren-trainer', 'wren-6-2.4.0')).not.toMatch(/older firmware/)
    expect(textFor('wren-new', 'wren-6-2.4.0')).toMatch(/never been updated before/)
  })
})
