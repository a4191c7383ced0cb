import { createHash } from 'node:crypto'
import { existsSync, readdirSync, rmSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { projectRoot } from '../../main/scripts/build.mjs'
import { Library } from '../../main/store/library.ts'
import { WorkerPool } from '../../main/work/pool.ts'
import { sourceScript } from '../../main/work/worker-script.ts'
import { demoBench } from '../../shared/demo/bench.ts'
import { buildImage } from '../../shared/image/build.ts'
import { writeImageCard } from '../../shared/image/image-card.ts'
import { writeIntelHex } from '../../shared/image/write-intel-hex.ts'
import { ProblemError } from '../../shared/model/problem.ts'
import { testFolder } from '../support/folder.ts'
import { makeZip } from '../support/zip.ts'

const encoder = new TextEncoder()
const bench = demoBench()

/** An image as a file with its card, as somebody would download it. */
function built(version: string) {
  const type = bench.catalogue.receiverTypes[0]
  const { segments, card } = buildImage({
    ...bench.images[0],
    version,
    sizeBytes: 8192,
    typeName: type.name,
    vendorName: type.maker,
    programAddress: type.flash.programAddress,
  })
  const hex = encoder.encode(writeIntelHex(segments))
  return { hex, raw: segments[0].octets, cardText: writeImageCard(card), card }
}

let folder: ReturnType<typeof testFolder>
let library: Library
const now = () => '2026-11-25T08:00:00.000Z'
beforeEach(() => {
  folder = testFolder('library')
  library = new Library(folder.path, now)
})
afterEach(() => folder.remove())
const again = () => new Library(folder.path, now)
const libraryFolder = () => join(folder.path, 'library')

describe('the library of images', () => {
  it('is empty at first, and keeps what was imported for the next start', async () => {
    expect(await library.list()).toEqual([])
    const image = built('2.5.0')
    const [taken] = await library.import([
      { fileName: 'wren.hex', octets: image.hex, cardText: image.cardText },
    ])
    expect(taken).toMatchObject({ got: 'entry', entry: { fileName: 'wren.hex', cardFrom: 'beside' } })
    const [entry] = await again().list()
    expect(entry.card?.version).toBe('2.5.0')
    expect(Buffer.from((await again().read(entry.id)).octets).equals(Buffer.from(image.hex))).toBe(true)
  })

  it('compares the digest that a maker publishes, of the file or of what is in it, and remembers that it agreed', async () => {
    const image = built('2.5.0')
    const [taken] = await library.import([{ fileName: 'a.hex', octets: image.hex }])
    const id = taken.got === 'entry' ? taken.entry.id : ''
    await expect(library.compareDigest(id, 'ab'.repeat(32))).rejects.toMatchObject({
      problem: { code: 'library.digest-differs' },
    })
    const ofFile = createHash('sha256').update(image.hex).digest('hex')
    expect((await library.compareDigest(id, ofFile)).digestCompared).toBe(now())
    expect((await library.compareDigest(id, null)).digestCompared).toBeUndefined()
    await library.compareDigest(id, id)
    // Saying what it is for does not undo it, nor does the next start.
    await library.setCard(id, image.card)
    expect((await again().list())[0].digestCompared).toBe(now())
    await expect(library.compareDigest('00'.repeat(32), null)).rejects.toBeInstanceOf(ProblemError)
  })

  it('knows the same image in another container', async () => {
    const image = built('2.5.0')
    await library.import([{ fileName: 'a.hex', octets: image.hex, cardText: image.cardText }])
    const [second] = await library.import([{ fileName: 'a.bin', octets: image.raw }])
    expect(second).toMatchObject({ got: 'duplicate', entry: { fileName: 'a.hex' } })
    expect(await library.list()).toHaveLength(1)
  })

  it('takes the missing card from a second import', async () => {
    const image = built('2.5.0')
    await library.import([{ fileName: 'a.hex', octets: image.hex }])
    expect((await library.list())[0].cardFrom).toBe('nobody')
    const [second] = await library.import([
      { fileName: 'a.hex', octets: image.hex, cardText: image.cardText },
    ])
    expect(second.got).toBe('entry')
    expect((await again().list())[0].cardFrom).toBe('beside')
  })

  it('takes the sound ones of several, and says what is wrong with the others', async () => {
    const image = built('2.5.0')
    const imported = await library.import([
      { fileName: 'damaged.hex', octets: encoder.encode(':0100000001FF\n:00000001FF\n') },
      { fileName: 'good.hex', octets: image.hex },
      { fileName: 'empty.bin', octets: new Uint8Array(0) },
    ])
    expect(imported.map(i => i.got)).toEqual(['problems', 'entry', 'problems'])
    expect(imported[0].got === 'problems' && imported[0].problems[0]).toMatchObject({
      file: 'damaged.hex',
      line: 1,
    })
  })

  it('keeps a sound image whose card is damaged or belongs to another', async () => {
    const image = built('2.5.0')
    const other = built('2.6.0')
    await library.import([
      { fileName: 'a.hex', octets: image.hex, cardText: '{' },
      { fileName: 'b.hex', octets: other.hex, cardText: image.cardText },
    ])
    const entries = await library.list()
    const codes = (name: string) => entries.find(e => e.fileName === name)?.problems.map(p => p.code)
    expect(codes('a.hex')).toEqual(['card.not-json'])
    expect(codes('b.hex')).toEqual(['library.other-digest'])
  })

  it('removes and brings back', async () => {
    const [taken] = await library.import([{ fileName: 'a.hex', octets: built('2.5.0').hex }])
    const id = taken.got === 'entry' ? taken.entry.id : ''
    await library.remove(id)
    expect(await library.list()).toEqual([])
    expect(await again().list()).toEqual([])
    await library.restore(id)
    expect(await library.list()).toHaveLength(1)
    expect(await again().list()).toHaveLength(1)
  })

  it('takes a card by hand, but not one for another image', async () => {
    const image = built('2.5.0')
    const [taken] = await library.import([{ fileName: 'a.hex', octets: image.hex }])
    const id = taken.got === 'entry' ? taken.entry.id : ''
    expect((await library.setCard(id, image.card)).cardFrom).toBe('by-hand')
    expect((await again().list())[0].card?.version).toBe('2.5.0')
    await expect(library.setCard(id, built('2.6.0').card)).rejects.toMatchObject({
      problem: { code: 'library.other-digest' },
    })
    expect((await library.setCard(id, null)).cardFrom).toBe('nobody')
  })

  it('reads an image anew when a crash or a stranger took its entry', async () => {
    await library.import([{ fileName: 'a.hex', octets: built('2.5.0').hex }])
    const entryFile = () =>
      join(libraryFolder(), readdirSync(libraryFolder()).find(n => n.endsWith('.json')) ?? '')
    rmSync(entryFile())
    expect(await again().list()).toHaveLength(1)
    writeFileSync(entryFile(), '{"id":')
    expect(await again().list()).toHaveLength(1)
  })

  it('does not list what is not what its name says', async () => {
    await library.import([{ fileName: 'a.hex', octets: built('2.5.0').hex }])
    writeFileSync(join(libraryFolder(), `${'0'.repeat(64)}.image`), built('2.6.0').hex)
    writeFileSync(join(libraryFolder(), 'notes.txt'), 'mine')
    expect(await again().list()).toHaveLength(1)
    expect(existsSync(join(libraryFolder(), 'notes.txt'))).toBe(true)
  })

  it('takes each image of an archive by itself, and stops when it is told to', async () => {
    const [a, b] = [built('2.5.0'), built('2.6.0')]
    const zip = makeZip([
      { name: 'a.hex', content: a.hex },
      { name: 'a.hex.card.json', content: a.cardText },
      { name: 'b.hex', content: encoder.encode(':0100000001FF\n') },
      { name: 'c.hex', content: b.hex },
    ])
    const abort = new AbortController()
    const seen: string[] = []
    const stopped = await library.import([{ fileName: 'club.zip', octets: zip }], {
      signal: abort.signal,
      onProgress: name => {
        seen.push(name)
        if (name === 'b.hex') abort.abort()
      },
    })
    expect(stopped.map(i => [i.fileName, i.got])).toEqual([
      ['a.hex', 'entry'],
      ['b.hex', 'problems'],
      ['club.zip', 'problems'],
    ])
    expect(stopped[2]).toMatchObject({ problems: [{ code: 'work.stopped' }] })
    const imported = await library.import([{ fileName: 'club.zip', octets: zip }])
    expect(imported.map(i => [i.fileName, i.within, i.got])).toEqual([
      ['a.hex', 'club.zip', 'duplicate'],
      ['b.hex', 'club.zip', 'problems'],
      ['c.hex', 'club.zip', 'entry'],
    ])
    const kept = (await library.list()).find(entry => entry.fileName === 'c.hex')
    expect(Buffer.from((await library.read(kept?.id ?? '')).octets).equals(Buffer.from(b.hex))).toBe(true)
  })

  it('a file that hangs its reader is a problem of that file alone', async () => {
    const script = sourceScript(join(projectRoot, 'test', 'support', 'stubborn-worker.ts'))
    const pool = new WorkerPool({ script, size: 1, timeoutMs: 200 })
    const hanging = new Library(folder.path, now, { pool })
    const octets = new Uint8Array(4)
    const imported = await hanging.import(['hang', 'throw'].map(fileName => ({ fileName, octets })))
    expect(imported.map(i => i.got === 'problems' && i.problems[0].code)).toEqual([
      'work.timeout',
      'work.broken',
    ])
    hanging.close()
  })

  it('lists while a reader waits for its turn', async () => {
    const files = ['2.5.0', '2.6.0', '2.7.0', '2.8.0'].map(v => ({
      fileName: `${v}.hex`,
      octets: built(v).hex,
    }))
    const [imported] = await Promise.all([library.import(files), library.list(), library.list()])
    expect(imported.map(i => i.got)).toEqual(['entry', 'entry', 'entry', 'entry'])
  })

  it('refuses ids that are none, whatever they look like', async () => {
    for (const id of ['../../etc/passwd', '', 'x', '0'.repeat(64)]) {
      await expect(library.read(id)).rejects.toBeInstanceOf(ProblemError)
      await expect(library.remove(id)).rejects.toBeInstanceOf(ProblemError)
      await expect(library.restore(id)).rejects.toBeInstanceOf(ProblemError)
    }
  })
})
