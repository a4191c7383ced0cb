import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { createHandlers } from '../../main/handlers/index.ts'
import { type AppContract, contract } from '../../shared/api/contract.ts'
import type { RequestOf } from '../../shared/api/define.ts'
import { keysMethods } from '../../shared/api/keys.ts'
import { makeEvents, type Serve, serveContract } from '../../shared/api/serve.ts'
import { watchMethods } from '../../shared/api/watch.ts'
import { buildImage } from '../../shared/image/build.ts'
import { writeImageCard } from '../../shared/image/image-card.ts'
import { signCard } from '../../shared/image/signature.ts'
import { writeIntelHex } from '../../shared/image/write-intel-hex.ts'
import { wrenSpec } from '../renderer/firmware/sources.ts'
import { testFolder } from '../support/folder.ts'

/** RFC 8032, section 7.1, TEST 1. */
const SECRET = Buffer.from('9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60', 'hex')
const PUBLIC = 'd75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a'
const key = { keyId: 'aldwick-2026', maker: 'Aldwick', publicKey: PUBLIC }
const utf8 = (text: string) => new TextEncoder().encode(text)
const { segments, card } = buildImage({ ...wrenSpec, sizeBytes: 8192 })
const hex = utf8(writeIntelHex(segments))
const signed = signCard(card, key.keyId, new Uint8Array(SECRET))

let folder: ReturnType<typeof testFolder>
let serve: Serve
let told: [string, unknown][]
const start = () => {
  const events = makeEvents(contract)
  events.listen((event, data) => told.push([event, data]))
  const env = { hostKind: 'browser', dataFolder: folder.path, events } as const
  serve = serveContract(contract, createHandlers(env), error => expect.fail(String(error)))
}
async function ask<M extends keyof AppContract['methods'] & string>(
  method: M,
  request: RequestOf<AppContract, M>,
) {
  const outcome = await serve(method, request)
  if (!outcome.ok) throw new Error(outcome.problems.map(p => `${p.code} ${p.message}`).join())
  // biome-ignore lint/suspicious/noExplicitAny: the schema has checked it
  return outcome.reply as any
}
const codes = async (method: string, request: unknown) => {
  const outcome = await serve(method, request)
  return outcome.ok ? [] : outcome.problems.map(p => p.code)
}
const list = async () => (await ask('library.list', {})).entries
const take = async (fileName: string, octets: Uint8Array, cardText?: string) =>
  (await ask('library.import', { files: [{ fileName, octets, ...(cardText ? { cardText } : {}) }] })).imported

beforeEach(() => {
  folder = testFolder('library-handlers')
  told = []
  start()
})
afterEach(() => folder.remove())

describe('the library over the contract', () => {
  it('takes files, tells how far it is, and tells every window that the library has changed', async () => {
    const files = [
      { fileName: 'sub/a.hex', octets: hex },
      { fileName: 'sub/b.hex', octets: utf8(':0100000001FF\n') },
    ]
    const { imported } = await ask('library.import', { files, importId: 'mine' })
    expect(imported.map((one: { got: string }) => one.got)).toEqual(['entry', 'problems'])
    expect(imported[0].entry.fileName).toBe('a.hex')
    const progress = told.filter(([event]) => event === 'library.progress').map(([, data]) => data)
    expect(progress).toHaveLength(2)
    expect(progress[1]).toMatchObject({ importId: 'mine', done: 2 })
    expect(told.map(([event]) => event)).toContain('library.changed')
    expect(await ask('library.stop', { importId: 'mine' })).toEqual({})
  })

  it('judges at once when a key is added, and again when it is removed', async () => {
    await take('a.hex', hex, writeImageCard(signed))
    expect((await list())[0].signature).toMatchObject({ verdict: 'unknown-key', keyId: key.keyId })
    told = []
    await ask('keys.add', key)
    expect(told).toEqual([['library.changed', {}]])
    expect((await list())[0].signature).toMatchObject({ verdict: 'good', maker: 'Aldwick' })
    start()
    expect((await list())[0].signature.verdict).toBe('good')
    const { removed } = await ask('keys.remove', { keyId: key.keyId })
    expect((await list())[0].signature.verdict).toBe('unknown-key')
    await ask('keys.add', removed)
    expect((await list())[0].signature.verdict).toBe('good')
  })

  it('finds a signature wrong under another key of the same name, and one on other words', async () => {
    // The public key of TEST 2.
    const other = '3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c'
    await ask('keys.add', { ...key, publicKey: other })
    const [one] = await take('a.hex', hex, writeImageCard(signed))
    expect(one.entry.signature).toMatchObject({ verdict: 'bad', problem: { code: 'signature.wrong' } })
    await ask('keys.remove', { keyId: key.keyId })
    await ask('keys.import', {
      fileName: 'k.json',
      text: JSON.stringify([{ ...key, added: '2026-11-25T08:00:00Z' }]),
    })
    expect((await list())[0].signature.verdict).toBe('good')
    const { entry } = await ask('library.setCard', { id: card.sha256, card: { ...signed, version: '9.9.9' } })
    expect(entry.signature.verdict).toBe('bad')
  })

  it('says that a card changed by hand has lost its signature, until the old card is back', async () => {
    await ask('keys.add', key)
    await take('a.hex', hex, writeImageCard(signed))
    const { signature: _, ...unsigned } = signed
    const changed = await ask('library.setCard', { id: card.sha256, card: { ...unsigned, version: '2.5.1' } })
    expect(changed.entry).toMatchObject({
      cardFrom: 'by-hand',
      signature: { verdict: 'missing' },
      signatureLost: key.keyId,
    })
    const back = await ask('library.setCard', { id: card.sha256, card: signed, cardFrom: 'beside' })
    expect(back.entry).toMatchObject({ cardFrom: 'beside', signature: { verdict: 'good' } })
    expect(back.entry.signatureLost).toBeUndefined()
  })

  it('recognises the same program in another container and with other filling, both ways', async () => {
    const raw = segments[0].octets
    const padded = new Uint8Array(raw.length + 256).fill(0xff)
    padded.set(raw)
    await take('a.hex', hex)
    const [same] = await take('a.bin', raw)
    expect(same).toMatchObject({
      got: 'duplicate',
      entry: { alsoAs: [{ fileName: 'a.bin', format: 'raw' }] },
    })
    const [long] = await take('long.bin', padded)
    expect(long.entry.alike).toMatchObject([{ id: card.sha256, likeness: 'padded', differing: 256 }])
    const alike = async () =>
      Object.fromEntries(
        (await list()).map((e: { id: string; alike?: unknown[] }) => [e.id, e.alike?.length ?? 0]),
      )
    expect(await alike()).toEqual({ [card.sha256]: 1, [long.entry.id]: 1 })
    start()
    expect(await alike()).toEqual({ [card.sha256]: 1, [long.entry.id]: 1 })
    await ask('library.remove', { id: long.entry.id })
    expect(await alike()).toEqual({ [card.sha256]: 0 })
  })

  it('reads entries of older versions anew, and keeps what they say', async () => {
    const raw = segments[0].octets
    const padded = new Uint8Array(raw.length + 256).fill(0xff)
    padded.set(raw)
    await take('a.hex', hex, writeImageCard(card))
    await take('long.bin', padded)
    const library = join(folder.path, 'library')
    for (const name of readdirSync(library).filter(n => n.endsWith('.json'))) {
      const {
        payloadKey: _,
        alike: __,
        signature: ___,
        ...old
      } = JSON.parse(readFileSync(join(library, name), 'utf8'))
      writeFileSync(join(library, name), JSON.stringify(old))
    }
    start()
    told = []
    expect((await list()).map((e: { card: unknown }) => e.card !== null).sort()).toEqual([false, true])
    await expect.poll(() => told.length, { timeout: 15_000 }).toBeGreaterThan(0)
    expect((await list()).map((e: { alike?: unknown[] }) => e.alike?.length)).toEqual([1, 1])
  })
})

describe('the watched folder over the contract', () => {
  it('is off at first, is remembered, and survives what a window writes into the settings', async () => {
    expect(await ask('watch.get', {})).toMatchObject({ state: 'off', folder: null })
    const downloads = join(folder.path, 'downloads')
    mkdirSync(downloads)
    expect(await codes('watch.set', { folder: folder.path })).toEqual(['watch.own'])
    expect(await codes('watch.set', { folder: 'downloads' })).toEqual(['watch.not-absolute'])
    start()
    const elsewhere = testFolder('elsewhere')
    try {
      expect(await ask('watch.set', { folder: elsewhere.path })).toMatchObject({ folder: elsewhere.path })
      await ask('settings.set', { settings: { theme: 'dark', rehearse: {} } })
      start()
      expect(await ask('watch.get', {})).toMatchObject({ folder: elsewhere.path, state: 'watching' })
      expect((await ask('settings.get', {})).settings).toMatchObject({ theme: 'dark' })
      await ask('watch.set', { folder: null })
      start()
      expect(await ask('watch.get', {})).toMatchObject({ state: 'off' })
    } finally {
      elsewhere.remove()
    }
    expect(existsSync(downloads)).toBe(true)
  })
})

describe('what may be asked of keys and watched folders', () => {
  it('is bounded', () => {
    const { request } = keysMethods['keys.add']
    expect(request.safeParse(key).success).toBe(true)
    expect(request.safeParse({ ...key, publicKey: 'a'.repeat(1001) }).success).toBe(false)
    expect(
      keysMethods['keys.import'].request.safeParse({ fileName: 'k', text: 'x'.repeat(200_002) }).success,
    ).toBe(false)
    expect(watchMethods['watch.set'].request.safeParse({ folder: '' }).success).toBe(false)
    expect(watchMethods['watch.folders'].request.safeParse({ path: 'x'.repeat(4097) }).success).toBe(false)
  })
})
