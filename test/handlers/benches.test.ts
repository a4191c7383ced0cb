import { writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { createHandlers } from '../../main/handlers/index.ts'
import { benchFileMethods } from '../../shared/api/bench-files.ts'
import { contract } from '../../shared/api/contract.ts'
import { makeEvents, type Serve, serveContract } from '../../shared/api/serve.ts'
import { demoBench } from '../../shared/demo/bench.ts'
import { writeBench } from '../../shared/model/bench.ts'
import type { TestFolder } from '../support/folder.ts'
import { testFolder } from '../support/folder.ts'

const FILE = 'club.preflash.json'

describe('benches and settings over the contract', () => {
  let folder: TestFolder
  let serve: Serve
  const serving = (benchFile?: string) => {
    const env = {
      hostKind: 'browser',
      dataFolder: folder.path,
      events: makeEvents(contract),
      benchFile,
    } as const
    return serveContract(contract, createHandlers(env), error => expect.fail(String(error)))
  }
  const answered = async (method: string, request: unknown) => {
    const outcome = await serve(method, request)
    if (!outcome.ok) throw new Error(outcome.problems.map(p => `${p.code} ${p.message}`).join())
    return outcome.reply
  }
  const refused = async (method: string, request: unknown) => {
    const outcome = await serve(method, request)
    return outcome.ok ? [] : outcome.problems
  }
  beforeEach(() => {
    folder = testFolder('handlers')
    serve = serving()
  })
  afterEach(() => folder.remove())

  it('saves, lists and opens', async () => {
    const bench = demoBench()
    expect(await answered('bench.list', {})).toEqual({ files: [] })
    const saved = await answered('bench.save', { fileName: FILE, bench, expectedRevision: null })
    expect(await answered('bench.list', {})).toMatchObject({ files: [{ fileName: FILE, name: bench.name }] })
    expect(await answered('bench.open', { fileName: FILE })).toEqual({ ...(saved as object), bench })
    const again = await refused('bench.save', { fileName: FILE, bench, expectedRevision: null })
    expect(again).toMatchObject([{ code: 'bench.exists' }])
    const stale = await refused('bench.save', { fileName: FILE, bench, expectedRevision: 'f'.repeat(64) })
    expect(stale).toMatchObject([{ code: 'bench.changed-on-disk', file: FILE }])
  })

  it('checks a text that came from elsewhere, without touching the disk', async () => {
    const bench = demoBench()
    expect(await answered('bench.check', { fileName: 'sent.json', text: writeBench(bench) })).toEqual({
      bench,
    })
    const receivers = bench.receivers.map((r, i) => (i === 2 ? { ...r, boundTo: 'nowhere' } : r))
    const text = writeBench({ ...bench, receivers })
    expect(await refused('bench.check', { fileName: 'sent.json', text })).toMatchObject([
      { code: 'bench.reference', file: 'sent.json', field: 'receivers[2].boundTo' },
    ])
    expect(await refused('bench.check', { fileName: 'sent.json', text: '{\n\n,' })).toMatchObject([
      { code: 'bench.not-json', file: 'sent.json', line: 3 },
    ])
  })

  it('knows the bench file of the command line', async () => {
    const path = join(folder.path, 'given.json')
    writeFileSync(path, writeBench(demoBench()))
    serve = serving(path)
    expect(await answered('bench.list', {})).toMatchObject({
      commandLineFile: path,
      files: [{ fileName: path, fromCommandLine: true }],
    })
    expect(await answered('bench.open', { fileName: path })).toMatchObject({ fileName: path })
  })

  it('has four methods, each refusing what it does not know', async () => {
    for (const method of Object.keys(benchFileMethods))
      expect(await refused(method, { surprise: 1 })).not.toEqual([])
  })

  it('keeps settings', async () => {
    expect(await answered('settings.get', {})).toEqual({ settings: { theme: 'system', rehearse: {} } })
    const settings = { theme: 'dark', rehearse: { route: 'wireless' } }
    expect(await answered('settings.set', { settings })).toEqual({ settings })
    expect(await answered('settings.get', {})).toEqual({ settings })
    expect(await refused('settings.set', { settings: { theme: 'pink' } })).toMatchObject([
      { code: 'api.request', field: 'settings.theme' },
    ])
  })
})
