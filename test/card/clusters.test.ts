import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  clustersFor,
  clustersNeeded,
  entriesFor,
  folderClusters,
  foldersAbove,
  MAX_FILE_BYTES,
} from '../../shared/card/clusters.ts'

describe('whole clusters', () => {
  // Measured in an image made by mkfs.fat with 4096-octet clusters, by following the FAT chain.
  it.each([
    [0, 0],
    [1, 1],
    [4096, 1],
    [4097, 2],
  ])('a file of %i octets takes %i', (bytes, clusters) => {
    expect(clustersFor(bytes, 4096)).toBe(clusters)
  })

  it('are the fewest that hold the file', () => {
    fc.assert(
      fc.property(fc.nat(MAX_FILE_BYTES), fc.integer({ min: 9, max: 18 }), (bytes, power) => {
        const clusters = clustersFor(bytes, 2 ** power)
        expect(clusters * 2 ** power).toBeGreaterThanOrEqual(bytes)
        expect((clusters - 1) * 2 ** power).toBeLessThan(Math.max(1, bytes))
      }),
    )
  })

  it.each([-1, 0.5, Number.NaN, Number.POSITIVE_INFINITY])('refuse the size %d', bytes => {
    expect(() => clustersFor(bytes, 4096)).toThrow(RangeError)
  })
  it('refuse a cluster of nought', () => {
    expect(() => clustersFor(1, 0)).toThrow(RangeError)
  })

  // Microsoft, FAT specification: 2^32 - 1.
  it('hold at most 4 294 967 295 octets a file', () => expect(MAX_FILE_BYTES).toBe(4_294_967_295))
})

describe('folder entries', () => {
  // Microsoft, FAT specification: 13 characters to a long-name entry of 32 octets.
  it.each([
    ['README.TXT', 1],
    ['readme.txt', 2],
    ['thirteen12345', 2],
    ['fourteen123456', 3],
    ['a'.repeat(255), 21],
  ])('%s takes %i', (name, entries) => expect(entriesFor(name)).toBe(entries))

  it('and the two of the folder itself fill its clusters', () => {
    expect(folderClusters([], 512)).toBe(1)
    expect(folderClusters(Array(14).fill('README.TXT'), 512)).toBe(1)
    expect(folderClusters(Array(15).fill('README.TXT'), 512)).toBe(2)
  })

  it('are counted in every folder that has to be made', () => {
    expect(foldersAbove('A/B/c.bin')).toEqual(['A', 'A/B'])
    expect(foldersAbove('c.bin')).toEqual([])
    const files = [{ path: 'A/B/c.bin', bytes: 4097 }]
    // Two for the file, one each for A and B, and the top folder may have to grow by one.
    expect(clustersNeeded({ files, clusterBytes: 4096, folderIsThere: () => false })).toBe(5)
    // Two for the file, and B may have to grow by one.
    expect(clustersNeeded({ files, clusterBytes: 4096, folderIsThere: () => true })).toBe(3)
  })
})
