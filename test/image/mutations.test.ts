import { describe, expect, it } from 'vitest'
import { emptyTally, originals, readMutant, tryMutants } from '../support/mutants.ts'

/**
 * Files damaged at random: each gives an image, or an error that says where and why; none throws, none hangs. The same
 * with 100,000 of them and with memory watched is in `npm run bench` (test/bench/mutations.ts).
 */
const files = originals()
const EACH = Math.ceil(2000 / files.length)

describe('mutants', () => {
  it('are made from files that are sound themselves', () => {
    for (const { name, kind, octets } of files) {
      const tally = emptyTally()
      readMutant(kind, octets, tally)
      // The file for two families wants to be asked for one of them.
      expect([name, tally.images]).toEqual([name, name === 'two.uf2' ? 0 : 1])
    }
  })

  it.each(files.map(f => [f.name, f] as const))('of %s give an image or an error', (_name, file) => {
    const { images, errors } = tryMutants([file], files, EACH, 20261125)
    expect(images + errors).toBe(EACH)
    if (file.kind !== 'raw') expect(errors).toBeGreaterThan(EACH / 2)
  })

  it('are the same for the same seed', () => {
    const [a, b] = [1, 2].map(() => ({ ...tryMutants(files, files, 55, 7), slowestMs: 0 }))
    expect(a).toEqual(b)
  })
})
