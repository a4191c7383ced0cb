import { createHash } from 'node:crypto'
import * as fs from 'node:fs/promises'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import type { FileSteps } from '../../main/store/atomic-write.ts'
import { BenchFiles, type SaveRequest } from '../../main/store/bench-files.ts'
import { demoBench } from '../../shared/demo/bench.ts'
import { MAX_BENCH_FILE_BYTES, writeBench } from '../../shared/model/bench.ts'
import type { Problem } from '../../shared/model/problem.ts'
import type { TestFolder } from '../support/folder.ts'
import { testFolder } from '../support/folder.ts'

const FILE = 'club.preflash.json'
const named = (name: string) => ({ ...demoBench(), name })
const sha256 = (text: string) => createHash('sha256').update(text).digest('hex')

/** The problems that a promise rejects with; fails when it does not reject, or not with problems. */
async function problemsOf(promise: Promise<unknown>): Promise<readonly Problem[]> {
  const error = await promise.then(
    () => expect.fail('there was no problem'),
    e => e,
  )
  const problems = error.problems ?? [error.problem]
  expect(problems[0], String(error)).toHaveProperty('code')
  return problems
}
const codeOf = async (promise: Promise<unknown>) => (await problemsOf(promise))[0].code

describe('bench files', () => {
  let folder: TestFolder
  let files: BenchFiles
  beforeEach(() => {
    folder = testFolder('benches')
    files = new BenchFiles({ dataFolder: folder.path })
  })
  afterEach(() => folder.remove())

  const at = (name: string) => join(folder.path, 'benches', name)
  const put = async (name: string, text: string | Uint8Array) => {
    await fs.mkdir(join(folder.path, 'benches'), { recursive: true })
    await fs.writeFile(at(name), text)
  }
  const save = (rest: Partial<SaveRequest> = {}) =>
    files.save({ fileName: FILE, bench: named('Club'), expectedRevision: null, ...rest })

  it('saves a bench that opens again as it was, with the digest of the file as its revision', async () => {
    const saved = await save()
    const text = await fs.readFile(at(FILE), 'utf8')
    expect(text).toBe(writeBench(named('Club')))
    expect(saved).toEqual({ fileName: FILE, revision: sha256(text) })
    expect(await files.open(FILE)).toEqual({ ...saved, bench: named('Club') })
  })

  it('saves again over the revision it knows', async () => {
    const { revision } = await save()
    const again = await save({ bench: named('Club 2'), expectedRevision: revision })
    expect((await files.open(FILE)).bench.name).toBe('Club 2')
    expect(again.revision).not.toBe(revision)
  })

  it('does not replace a file where there must be none, except on request', async () => {
    await save()
    expect(await codeOf(save({ bench: named('Other') }))).toBe('bench.exists')
    expect((await files.open(FILE)).bench.name).toBe('Club')
    await save({ bench: named('Other'), overwrite: true })
    expect((await files.open(FILE)).bench.name).toBe('Other')
  })

  it('takes names that differ only in case for one file', async () => {
    await save()
    expect(await codeOf(save({ fileName: 'CLUB.preflash.json' }))).toBe('bench.exists')
    expect((await save({ fileName: 'CLUB.preflash.json', overwrite: true })).fileName).toBe(FILE)
    expect(await fs.readdir(join(folder.path, 'benches'))).toEqual([FILE])
  })

  it('does not replace a file that somebody else has changed, except on request', async () => {
    const { revision } = await save()
    await put(FILE, writeBench(named('From elsewhere')))
    expect(await codeOf(save({ expectedRevision: revision }))).toBe('bench.changed-on-disk')
    expect((await files.open(FILE)).bench.name).toBe('From elsewhere')
    await save({ expectedRevision: revision, overwrite: true })
    expect((await files.open(FILE)).bench.name).toBe('Club')
  })

  it('lets one of two saves at once win, and tells the other', async () => {
    const { revision } = await save()
    const both = await Promise.allSettled(
      ['One', 'Two'].map(name => save({ bench: named(name), expectedRevision: revision })),
    )
    expect(both.map(r => r.status)).toEqual(['fulfilled', 'rejected'])
    expect((await files.open(FILE)).bench.name).toBe('One')
    const fresh = await Promise.allSettled(
      ['a', 'A'].map(stem => save({ fileName: `${stem}.preflash.json` })),
    )
    expect(fresh.map(r => r.status)).toEqual(['fulfilled', 'rejected'])
  })

  it('leaves the old file and no partial one when it fails between writing and renaming', async () => {
    const { revision } = await save()
    const rename: FileSteps['rename'] = () =>
      Promise.reject(Object.assign(new Error('full'), { code: 'ENOSPC' }))
    const broken = new BenchFiles({ dataFolder: folder.path, steps: { ...fs, rename } })
    const request = { fileName: FILE, bench: named('Lost'), expectedRevision: revision }
    expect(await codeOf(broken.save(request))).toBe('bench.no-room')
    expect(await fs.readdir(join(folder.path, 'benches'))).toEqual([FILE])
    expect((await files.open(FILE)).revision).toBe(revision)
    const fresh = { ...request, fileName: 'fresh.preflash.json', expectedRevision: null }
    expect(await codeOf(broken.save(fresh))).toBe('bench.no-room')
    expect(await fs.readdir(join(folder.path, 'benches'))).toEqual([FILE])
  })

  it.each([
    ['EROFS', 'bench.not-allowed'],
    ['EIO', 'bench.not-saved'],
  ])('says %s in plain words', async (code, problem) => {
    const rename: FileSteps['rename'] = () => Promise.reject(Object.assign(new Error(code), { code }))
    const broken = new BenchFiles({ dataFolder: folder.path, steps: { ...fs, rename } })
    expect(await codeOf(broken.save({ fileName: FILE, bench: named('x'), expectedRevision: null }))).toBe(
      problem,
    )
  })

  it('refuses names that lead elsewhere, to open and to save', async () => {
    await fs.writeFile(join(folder.path, 'secret.preflash.json'), writeBench(named('Secret')))
    for (const fileName of [
      '../secret.preflash.json',
      join(folder.path, 'secret.preflash.json'),
      'nul.preflash.json',
    ]) {
      expect(await codeOf(files.open(fileName))).toBe('bench.file-name')
      expect(await codeOf(save({ fileName }))).toBe('bench.file-name')
    }
  })

  it('refuses a bench whose parts do not fit together, naming the field', async () => {
    const bench = { ...demoBench(), wiring: { ...demoBench().wiring, cableId: 'no-such-cable' } }
    const [problem] = await problemsOf(save({ bench }))
    expect(problem).toMatchObject({ code: 'bench.reference', field: 'wiring.cableId', file: FILE })
    await expect(fs.readdir(join(folder.path, 'benches'))).rejects.toThrow()
  })

  it('does not touch a folder that has the name', async () => {
    await fs.mkdir(at(FILE), { recursive: true })
    expect(await codeOf(save({ overwrite: true }))).toBe('bench.in-the-way')
    expect(await codeOf(files.open(FILE))).toBe('file.not-a-file')
  })

  describe('bad files', () => {
    const open = async (text: string | Uint8Array) => {
      await put(FILE, text)
      return (await problemsOf(files.open(FILE)))[0]
    }
    const lines = writeBench(demoBench()).split('\n')

    it('names the line where it is not JSON', async () => {
      const broken = [...lines.slice(0, 41), '  oops', ...lines.slice(41)].join('\n')
      expect(await open(broken)).toMatchObject({ code: 'bench.not-json', file: FILE, line: 42 })
      expect(await open(lines.slice(0, 30).join('\n'))).toMatchObject({ code: 'bench.not-json', line: 30 })
      expect(await open('')).toMatchObject({ code: 'bench.not-json', line: 1 })
    })

    it('names the field that is wrong', async () => {
      const text = JSON.stringify({
        ...demoBench(),
        radios: [{ ...demoBench().radios[0], batteryVolts: 'full' }],
      })
      expect(await open(text)).toMatchObject({
        code: 'bench.field',
        file: FILE,
        field: 'radios[0].batteryVolts',
      })
      expect(await open('[]')).toMatchObject({ code: 'bench.field', field: '(whole file)' })
    })

    it('refuses what is not text, what is too large and what is not there', async () => {
      expect(await open(Buffer.from('{\n"name": "\xff"}', 'latin1'))).toMatchObject({
        code: 'file.not-text',
        line: 2,
      })
      expect((await open(Buffer.alloc(MAX_BENCH_FILE_BYTES + 1, 0x20))).code).toBe('file.too-large')
      expect(await codeOf(files.open('missing.preflash.json'))).toBe('file.missing')
    })
  })

  describe('the list', () => {
    it('is empty before anything was saved', async () => expect(await files.list()).toEqual([]))

    it('has the benches of the folder, the latest first, and nothing else', async () => {
      await save()
      await save({ fileName: 'old.preflash.json', bench: named('Old "one" {really}') })
      await put('broken.preflash.json', '{"catalogue": {"name": "Inner"}}')
      await put('notes.json', '{}')
      await put('.preflash-01234567-89ab-cdef-0123-456789abcdef.tmp', 'left by a crash')
      await fs.utimes(at('old.preflash.json'), 1_000_000_000, 1_000_000_000)
      await fs.utimes(at('broken.preflash.json'), 999_999_999, 999_999_999)
      const list = await files.list()
      expect(list.map(f => [f.fileName, f.name, f.fromCommandLine])).toEqual([
        [FILE, 'Club', false],
        ['old.preflash.json', 'Old "one" {really}', false],
        ['broken.preflash.json', 'broken', false],
      ])
      expect(list[1].modified).toBe('2001-09-09T01:46:40.000Z')
      expect(list[0].bytes).toBe(Buffer.byteLength(writeBench(named('Club'))))
    })

    it('clears away what a crash left behind once it is old', async () => {
      const name = '.preflash-01234567-89ab-cdef-0123-456789abcdef.tmp'
      await put(name, 'half a be')
      await fs.utimes(at(name), 1_000_000_000, 1_000_000_000)
      await files.list()
      expect(await fs.readdir(join(folder.path, 'benches'))).toEqual([])
    })
  })

  describe('the file from the command line', () => {
    let path: string
    let withFile: BenchFiles
    beforeEach(async () => {
      path = join(folder.path, 'elsewhere.json')
      await fs.writeFile(path, writeBench(named('Given')))
      withFile = new BenchFiles({ dataFolder: folder.path, commandLineFile: path })
    })

    it('is listed first, marked, and opened and saved in place', async () => {
      await save()
      expect((await withFile.list()).map(f => [f.fileName, f.name, f.fromCommandLine])).toEqual([
        [path, 'Given', true],
        [FILE, 'Club', false],
      ])
      const opened = await withFile.open(path)
      expect(opened.bench.name).toBe('Given')
      const request = { fileName: path, bench: named('Given 2'), expectedRevision: opened.revision }
      expect((await withFile.save(request)).fileName).toBe(path)
      expect(await fs.readFile(path, 'utf8')).toBe(writeBench(named('Given 2')))
      expect(await codeOf(withFile.save(request))).toBe('bench.changed-on-disk')
    })

    it('is listed once where it lies in the benches folder', async () => {
      await save()
      const inside = new BenchFiles({ dataFolder: folder.path, commandLineFile: at(FILE) })
      expect((await inside.list()).map(f => f.fileName)).toEqual([at(FILE)])
    })

    it('opens no other path, and says when the file is not there', async () => {
      await fs.writeFile(join(folder.path, 'other.json'), writeBench(named('Other')))
      expect(await codeOf(withFile.open(join(folder.path, 'other.json')))).toBe('bench.file-name')
      await fs.rm(path)
      expect(await withFile.list()).toEqual([])
      expect(await codeOf(withFile.open(path))).toBe('file.missing')
    })

    it.skipIf(process.platform === 'win32')(
      'keeps its permissions, and a link that leads to it',
      async () => {
        await fs.chmod(path, 0o640)
        const link = join(folder.path, 'link.json')
        await fs.symlink(path, link)
        const linked = new BenchFiles({ dataFolder: folder.path, commandLineFile: link })
        const { revision } = await linked.open(link)
        await linked.save({ fileName: link, bench: named('Through'), expectedRevision: revision })
        expect((await fs.lstat(link)).isSymbolicLink()).toBe(true)
        expect((await fs.stat(path)).mode & 0o777).toBe(0o640)
        expect(await fs.readFile(path, 'utf8')).toBe(writeBench(named('Through')))
      },
    )
  })
})
