import { describe, expect, it } from 'vitest'
import {
  type FileLike,
  type ImportedFile,
  type ImportRun,
  importFiles,
  MAX_CARD_BYTES,
  MAX_IMAGE_BYTES,
  type ReadyFile,
  withAlikeWords,
} from '../../../renderer/firmware/import-files.ts'
import { entryFor } from './sources.ts'

const file = (name: string, size = 10): FileLike => ({
  name,
  size,
  arrayBuffer: async () => new ArrayBuffer(size),
  text: async () => `card of ${name}`,
})
const damaged: ImportedFile = {
  fileName: 'b.hex',
  got: 'problems',
  problems: [{ code: 'hex.checksum', file: 'b.hex', line: 10, message: 'The checksum is wrong.' }],
}
const untold = () => {}

async function run(
  files: readonly FileLike[],
  answer: (one: ReadyFile) => ImportedFile = () => damaged,
  more: Partial<ImportRun> = {},
) {
  const parcels: (readonly ReadyFile[])[] = []
  const told: number[][] = []
  const outcomes = await importFiles(files, {
    hand: async parcel => {
      parcels.push(parcel)
      return parcel.map(answer)
    },
    tell: (done, all) => told.push([done, all]),
    ...more,
  })
  return { parcels, outcomes, told }
}

describe('importing files', () => {
  it('hands an image over with the text of its card', async () => {
    const { parcels } = await run([file('a.hex'), file('a.card.json')])
    expect(parcels).toEqual([
      [{ fileName: 'a.hex', octets: new Uint8Array(10), cardText: 'card of a.card.json' }],
    ])
  })

  it('says what became of each, what needs looking at first, with file and line', async () => {
    const entry = entryFor('a.hex')
    const { outcomes } = await run([file('a.hex'), file('b.hex')], one =>
      one.fileName === 'a.hex' ? { fileName: 'a.hex', got: 'entry', entry } : damaged,
    )
    expect(outcomes.map(o => [o.fileName, o.got])).toEqual([
      ['b.hex', 'problems'],
      ['a.hex', 'entry'],
    ])
    expect(outcomes[0].words).toEqual(['b.hex, line 10: The checksum is wrong.'])
    expect(outcomes[1]).toMatchObject({ id: entry.id, words: ['With its image card.'] })
  })

  it('says under which name an image is there already', async () => {
    const entry = entryFor('first name.hex')
    const { outcomes } = await run([file('a.hex')], () => ({ fileName: 'a.hex', got: 'duplicate', entry }))
    expect(outcomes[0].words).toEqual(['It is there as first name.hex.'])
  })

  it('does not even read what is too large', async () => {
    const { parcels, outcomes } = await run([
      file('huge.bin', MAX_IMAGE_BYTES + 1),
      file('c.hex'),
      file('c.card.json', MAX_CARD_BYTES + 1),
    ])
    expect(parcels).toEqual([])
    expect(outcomes.map(o => o.got)).toEqual(['problems', 'problems'])
    expect(outcomes[0].words[0]).toContain('at most 16 MiB')
  })

  it('says so when a file is gone', async () => {
    const gone = { ...file('a.hex'), arrayBuffer: () => Promise.reject(new Error('gone')) }
    expect((await run([gone])).outcomes[0].words[0]).toContain('could not be read')
  })

  it('sends many files in parcels and tells how far it is', async () => {
    const many = Array.from({ length: 120 }, (_, i) => file(`${i}.hex`))
    const { parcels, told } = await run(many)
    expect(parcels.map(p => p.length)).toEqual([50, 50, 20])
    expect(told).toEqual([
      [50, 120],
      [100, 120],
      [120, 120],
    ])
    const large = Array.from({ length: 3 }, (_, i) => file(`${i}.bin`, 7 * 1024 * 1024))
    expect((await run(large)).parcels.map(p => p.length)).toEqual([2, 1])
  })

  it('hands nothing over where there is nothing', async () => {
    const outcomes = await importFiles([file('a.card.json')], {
      hand: () => Promise.reject(new Error('asked')),
      tell: untold,
    })
    expect(outcomes).toMatchObject([{ fileName: 'a.card.json', got: 'problems' }])
  })

  it('says in one line what is no image, of a folder and of an archive alone', async () => {
    const text: ImportedFile = {
      fileName: 'a.txt',
      got: 'problems',
      problems: [{ code: 'format.text', message: 'Text.' }],
    }
    const two = [file('d/a.txt'), file('d/b.txt')]
    const answer = ({ fileName }: ReadyFile) => ({ ...text, fileName })
    expect((await run(two, answer)).outcomes.map(o => o.got)).toEqual(['problems', 'problems'])
    const { outcomes } = await run(two, answer, { among: true })
    expect(outcomes).toMatchObject([{ fileName: '2 files, no image', got: 'aside' }])
    expect(outcomes[0].words[0]).toBe('d/a.txt, d/b.txt')
    const zipped = await run([file('c.zip')], () => ({ ...text, within: 'c.zip' }))
    expect(zipped.outcomes).toMatchObject([{ fileName: 'a.txt', got: 'aside' }])
  })

  it('reads no more when it is stopped, and says how many were left', async () => {
    const abort = new AbortController()
    const many = Array.from({ length: 120 }, (_, i) => file(`${i}.hex`))
    const { parcels, outcomes } = await run(
      many,
      one => {
        abort.abort()
        return { ...damaged, fileName: one.fileName }
      },
      { signal: abort.signal },
    )
    // The parcel goes out when the file after it has been read.
    expect(parcels.map(p => p.length)).toEqual([50, 1])
    expect(outcomes.at(-1)).toMatchObject({ fileName: '69 files, not read', got: 'stopped' })
  })

  it('asks for the family, and knows what to hand over again', async () => {
    const { outcomes } = await run([file('two.uf2')], ({ fileName }) => ({
      fileName,
      got: 'families',
      families: [7, null],
    }))
    expect(outcomes).toMatchObject([{ got: 'families', families: [7, null], again: { fileName: 'two.uf2' } }])
    const zipped = await run([file('c.zip')], () => ({
      fileName: 'x/two.uf2',
      within: 'c.zip',
      got: 'families',
      families: [7, null],
    }))
    expect(zipped.outcomes[0].again).toMatchObject({ fileName: 'c.zip', only: 'x/two.uf2' })
  })

  it('says which image is the same program', () => {
    const [a, b] = [entryFor('a.hex'), { ...entryFor('b.bin', { version: '2.6.0' }), format: 'raw' as const }]
    const alike = (likeness: 'moved' | 'padded' | 'refilled', moved: boolean) =>
      withAlikeWords(
        [{ fileName: 'a.hex', got: 'entry', words: ['W.'], id: a.id }],
        [{ ...a, alike: [{ id: b.id, likeness, moved, differing: 1234 }] }, b],
      )[0].words.slice(1)
    expect(alike('moved', true)).toEqual(['The same program as b.bin, in another container.'])
    expect(alike('padded', false)[0]).toContain('differs only in the filling at its ends, 1,234 octets')
    expect(alike('refilled', true)[0]).toContain('differs only in the filling of unused memory')
  })
})
