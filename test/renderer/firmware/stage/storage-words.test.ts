import { describe, expect, it } from 'vitest'
import { storageWords } from '../../../../renderer/firmware/stage/storage-words.ts'
import type { RadioType } from '../../../../shared/model/catalogue.ts'
import { bench } from '../sources.ts'

function said(storage: Partial<RadioType['storage']>) {
  const radioTypes = bench.catalogue.radioTypes.map(t =>
    t.id === 'aldwick-tarn-16' ? { ...t, storage: { ...t.storage, ...storage } } : t,
  )
  return storageWords({ ...bench, catalogue: { ...bench.catalogue, radioTypes } }, 'wren-trainer')
}

describe('how a radio shows its storage', () => {
  it('is said for the radio of this receiver', () => {
    const choosing = storageWords(bench, 'wren-trainer')
    expect(choosing.radio).toBe('Club Tarn, Aldwick Tarn 16')
    expect(choosing.ways).toEqual([expect.stringContaining('choose storage')])
    const starting = storageWords(bench, 'finch-foamie')
    expect(starting.radio).toContain('Fell 10')
    expect(starting.ways).toEqual([expect.stringContaining('start it in its storage mode')])
    expect([choosing.notKnown, starting.notKnown]).toEqual([undefined, undefined])
  })

  it('names both ways where it is not known which, and says that it is not', () => {
    const { ways, notKnown } = said({ reachedBy: 'unknown' })
    expect(ways).toHaveLength(2)
    expect(notKnown).toContain('not known')
  })

  it('names both ways where the bench has no radio', () => {
    const { radio, ways, notKnown } = storageWords({ ...bench, radios: [] }, 'wren-trainer')
    expect([radio, ways.length]).toEqual([undefined, 2])
    expect(notKnown).toContain('not on the bench')
  })

  it('says how many volumes show up', () => {
    expect(said({ internal: true, card: true }).shows).toMatch(/^Two volumes/)
    expect(said({ internal: false, card: true }).shows).toMatch(/^One volume.*card/)
    expect(said({ internal: true, card: false }).shows).toContain('takes no card')
    expect(said({ internal: false, card: false }).shows).toContain('neither')
  })
})
