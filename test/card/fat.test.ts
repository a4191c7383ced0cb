import { execFileSync } from 'node:child_process'
import { mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs'
import { basename, join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { stageOnVolume } from '../../main/card/stage.ts'
import { clustersFor, clustersNeeded, folderClusters } from '../../shared/card/clusters.ts'
import { readManifest } from '../../shared/card/manifest.ts'
import { checkName, foldName } from '../../shared/card/names.ts'
import { AT, asCard, demoImage } from '../support/card-fixture.ts'
import { freeBytes, fsckComplaints, listing, makeFat32, mtool } from '../support/fat.ts'
import { type TestFolder, testFolder } from '../support/folder.ts'
import { lacks } from '../support/tools.ts'

let folder: TestFolder
let image: string
beforeEach(() => {
  folder = testFolder('fat')
  image = join(folder.path, 'card.img')
})
afterEach(() => folder.remove())

const missing = lacks('mkfs.fat', 'mcopy')
const title = missing ? ' (LEFT OUT: Debian packages dosfstools and mtools are not here)' : ''

/** A fresh folder with these files in it, by name. */
function filesOf(sizes: Readonly<Record<string, number>>): string {
  const from = join(folder.path, 'from')
  mkdirSync(from, { recursive: true })
  for (const [name, bytes] of Object.entries(sizes))
    writeFileSync(join(from, name), Buffer.alloc(bytes, 0x5a))
  return from
}

describe.skipIf(missing)(`a FAT32 volume of dosfstools, seen by mtools${title}`, () => {
  it('holds what was staged, octet for octet, and its checker is content', async () => {
    makeFat32(image, 300, 8)
    const card = join(folder.path, 'CARD')
    mkdirSync(card)
    for (const id of ['wren-6-2.4.0', 'heron-8-1.7.0']) {
      const staged = await stageOnVolume({
        image: demoImage(id),
        target: asCard(card),
        folder: 'IMAGES',
        at: AT,
      })
      expect(staged.ok).toBe(true)
    }
    mtool('mcopy', image, '-s', join(card, 'IMAGES'), '::')
    const names = readdirSync(join(card, 'IMAGES'))
    expect(names).toHaveLength(5)
    expect(listing(image).sort()).toEqual(['IMAGES/', ...names.map(name => `IMAGES/${name}`)].sort())
    const back = join(folder.path, 'back')
    mtool('mcopy', image, '-s', '::IMAGES', back)
    for (const name of names)
      expect(readFileSync(join(back, name)).equals(readFileSync(join(card, 'IMAGES', name)))).toBe(true)
    const { value } = readManifest(readFileSync(join(back, 'preflash-manifest.json'), 'utf8'), 'm') as never
    expect((value as { images: unknown[] }).images).toHaveLength(2)
    expect(fsckComplaints(image)).toBe('')
  })

  for (const sectors of [1, 8, 64])
    it(`gives out space as it is counted here, with ${sectors} sectors to a cluster`, () => {
      const clusterBytes = sectors * 512
      makeFat32(image, sectors === 64 ? 2200 : 300, sectors)
      const free = freeBytes(image)
      const sizes = {
        'empty.bin': 0,
        'one.bin': 1,
        'cluster.bin': clusterBytes,
        'more.bin': clusterBytes + 1,
      }
      const names = Object.keys(sizes)
      const from = filesOf(sizes)
      mtool('mmd', image, '::FOLDER')
      mtool('mcopy', image, ...names.map(name => join(from, name)), '::FOLDER')
      const taken = (free - freeBytes(image)) / clusterBytes
      const files = Object.values(sizes).reduce((sum, bytes) => sum + clustersFor(bytes, clusterBytes), 0)
      expect(taken).toBe(files + folderClusters(names, clusterBytes))
      const asked = names.map(name => ({ path: `FOLDER/${name}`, bytes: sizes[name as keyof typeof sizes] }))
      const needed = clustersNeeded({ files: asked, clusterBytes, folderIsThere: () => false })
      expect(needed).toBeGreaterThanOrEqual(taken)
      // The top folder may have to grow for the new name, and here did not.
      expect(needed).toBeLessThanOrEqual(taken + 1)
    })

  it('gives folders with many long names as many clusters as are counted here', () => {
    makeFat32(image, 40, 1)
    const names = Array.from({ length: 30 }, (_, i) => `a-rather-long-name-of-a-receiver-image-${i}.bin`)
    const from = filesOf(Object.fromEntries(names.map(name => [name, 0])))
    const free = freeBytes(image)
    mtool('mmd', image, '::FOLDER')
    mtool('mcopy', image, ...names.map(name => join(from, name)), '::FOLDER')
    expect((free - freeBytes(image)) / 512).toBe(folderClusters(names, 512))
    expect(folderClusters(names, 512)).toBeGreaterThan(5)
  })

  it('takes names for one file when they are the same here, and for two when they are not', () => {
    makeFat32(image, 40, 1)
    const names = [
      'wren.bin',
      'WREN.BIN',
      'Wren.Bin',
      'wren2.bin',
      'WREN-2.bin',
      'wren-2.BIN',
      'Longer name.card.json',
      'longer NAME.CARD.json',
    ]
    for (const name of names) {
      const file = join(folder.path, 'one')
      writeFileSync(file, name)
      mtool('mcopy', image, '-D', 'o', file, `::${name}`)
    }
    expect(listing(image).map(foldName).sort()).toEqual([...new Set(names.map(foldName))].sort())
  })

  it('takes the longest name that is called good here, and awkward ones', () => {
    makeFat32(image, 40, 1)
    const names = [
      `${'n'.repeat(251)}.hex`,
      'two.dots.and space.bin',
      "a+,;=[]'b.bin",
      '.hidden',
      'console.bin',
    ]
    expect(names.flatMap(checkName)).toEqual([])
    const from = filesOf(Object.fromEntries(names.map(name => [name, 10])))
    mtool('mcopy', image, ...names.map(name => join(from, name)), '::')
    expect(listing(image).sort()).toEqual(names.map(n => basename(n)).sort())
    expect(fsckComplaints(image)).toBe('')
  })
})

/** Can this machine mount FAT? Root, a loop device and a kernel that knows it are needed. */
function mountable(): boolean {
  if (process.getuid?.() !== 0 || missing) return false
  try {
    return /\bvfat\b/.test(readFileSync('/proc/filesystems', 'utf8'))
  } catch {
    return false
  }
}
const why = mountable() ? '' : ' (LEFT OUT: mounting FAT takes root and a kernel with vfat)'

describe.skipIf(!mountable())(`a FAT32 volume, mounted${why}`, () => {
  it('is staged on directly', async () => {
    makeFat32(image, 300, 8)
    const card = join(folder.path, 'CARD')
    mkdirSync(card)
    execFileSync('mount', ['-o', 'loop', image, card])
    try {
      const staged = await stageOnVolume({
        image: demoImage(),
        target: asCard(card),
        folder: 'IMAGES',
        at: AT,
      })
      expect(staged).toMatchObject({ ok: true, value: { readBack: 'device' } })
    } finally {
      execFileSync('umount', [card])
    }
    const back = join(folder.path, 'back')
    mtool('mcopy', image, '::IMAGES/aldwick-wren-6-2.4.0.image', back)
    expect(readFileSync(back).equals(Buffer.from(demoImage().payload))).toBe(true)
    expect(fsckComplaints(image)).toBe('')
  })
})
