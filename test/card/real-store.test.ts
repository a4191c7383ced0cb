import { mkdirSync, readdirSync, readFileSync, symlinkSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import fc from 'fast-check'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { readsDevice } from '../../main/card/direct-read.ts'
import { RealStore } from '../../main/card/real-store.ts'
import { storeFailureOf } from '../../main/card/store-errors.ts'
import { checkCardPath } from '../../shared/card/names.ts'
import { snapshot, systemError } from '../support/card-fixture.ts'
import { type TestFolder, testFolder } from '../support/folder.ts'

let folder: TestFolder
let card: string
let store: RealStore
beforeEach(async () => {
  folder = testFolder('store')
  card = join(folder.path, 'CARD')
  mkdirSync(card)
  store = await RealStore.at(card)
})
afterEach(async () => {
  await store.close()
  folder.remove()
})

const octets = Uint8Array.from({ length: 100_003 }, (_, i) => (i * 31 + (i >> 8)) & 0xff)
const FAILED = (why: string) => ({ got: 'failed', why })

describe('a real volume', () => {
  it('gives back any part of a file as it was written, past the cache or not', async () => {
    writeFileSync(join(card, 'a'), octets)
    const part = fc.tuple(fc.nat(octets.length + 5000), fc.integer({ min: 1, max: 40_000 }))
    await fc.assert(
      fc.asyncProperty(part, async ([offset, bytes]) => {
        const answer = await store.ask({ op: 'read', path: 'a', offset, bytes })
        expect(answer.got).toBe('octets')
        if (answer.got !== 'octets') return
        expect(Buffer.from(answer.octets).equals(Buffer.from(octets.subarray(offset, offset + bytes)))).toBe(
          true,
        )
      }),
      { numRuns: 200 },
    )
    expect(['device', 'perhaps cache']).toContain(store.readBack)
  })

  it('before anything was read claims nothing', () => {
    expect(store.readBack).toBe('perhaps cache')
  })

  it('claims the device only for file systems that take the flag there', () => {
    for (const cache of [0x01021994, 0x858458f6, 0x6969, 0xff534d42, 0x65735546])
      expect(readsDevice(cache)).toBe(false)
    expect(readsDevice(0x4d44)).toBe(process.platform === 'linux')
  })

  it('tells sizes, and what is not there', async () => {
    writeFileSync(join(card, 'a'), octets)
    expect(await store.ask({ op: 'size', path: 'a' })).toEqual({ got: 'number', value: octets.length })
    expect(await store.ask({ op: 'size', path: 'b' })).toEqual(FAILED('not-found'))
    expect(await store.ask({ op: 'read', path: 'b', offset: 0, bytes: 1 })).toEqual(FAILED('not-found'))
    expect(await store.ask({ op: 'rename', path: 'b', to: 'c' })).toEqual(FAILED('not-found'))
    expect(await store.ask({ op: 'remove', path: 'b' })).toEqual({ got: 'done' })
    expect(await store.ask({ op: 'write', path: 'a', offset: 0, octets })).toEqual(FAILED('not-found'))
    expect((await store.ask({ op: 'space' })).got).toBe('number')
    expect(readFileSync(join(card, 'a')).equals(Buffer.from(octets))).toBe(true)
  })

  it('never writes into a file that is there: it makes a new one in its place', async () => {
    writeFileSync(join(folder.path, 'outside'), 'outside')
    symlinkSync(join(folder.path, 'outside'), join(card, 'link'))
    expect(await store.ask({ op: 'create', path: 'link', bytes: 1 })).toEqual(FAILED('name'))
    expect(readFileSync(join(folder.path, 'outside'), 'utf8')).toBe('outside')
  })

  it('refuses what is more than there is room for', async () => {
    expect(await store.ask({ op: 'create', path: 'a', bytes: 2 ** 52 })).toEqual(FAILED('full'))
    expect(readdirSync(card)).toEqual([])
  })

  const part = fc.oneof(
    fc.constantFrom('..', '.', '', 'a', 'link', 'dir', 'a\\..', 'C:', '~', '%2e%2e', 'con', '\u0000'),
    fc.string({ maxLength: 6 }),
  )
  it('is never left, whatever path is asked for', async () => {
    mkdirSync(join(folder.path, 'away'))
    writeFileSync(join(folder.path, 'away', 'a'), 'secret')
    writeFileSync(join(folder.path, 'a'), 'secret')
    mkdirSync(join(card, 'dir'))
    symlinkSync(join(folder.path, 'away'), join(card, 'link'))
    symlinkSync('../..', join(card, 'dir', 'link'))
    const outside = () =>
      Object.fromEntries(Object.entries(snapshot(folder.path)).filter(([n]) => !n.startsWith('CARD')))
    const before = outside()
    await fc.assert(
      fc.asyncProperty(fc.array(part, { maxLength: 4 }), async names => {
        const path = names.join('/')
        const got = [
          await store.ask({ op: 'create', path, bytes: 3 }),
          await store.ask({ op: 'write', path, offset: 0, octets: Uint8Array.of(1, 2, 3) }),
          await store.ask({ op: 'read', path, offset: 0, bytes: 10 }),
          await store.ask({ op: 'rename', path: 'dir', to: path }),
          await store.ask({ op: 'remove', path }),
        ]
        if (checkCardPath(path).length > 0 || /^\/*(dir\/)?link(\/|$)/.test(path))
          expect(got[2]).toEqual(FAILED('name'))
        expect(Buffer.from(got[2].got === 'octets' ? got[2].octets : []).toString()).not.toContain('secret')
      }),
      { numRuns: 150 },
    )
    expect(outside()).toEqual(before)
  })
})

describe("the system's errors", () => {
  it.each([
    ['ENOSPC', 'full'],
    ['EROFS', 'read-only'],
    ['EIO', 'bad-sector'],
    ['ENOENT', 'not-found'],
    ['ENODEV', 'absent'],
    ['ENAMETOOLONG', 'name'],
  ])('%s means %s', (code, why) => expect(storeFailureOf(systemError(code))).toBe(why))
  it.each(['EMFILE', 'ENOMEM', 'EWHATEVER', 'toString'])('%s says nothing about the volume', code =>
    expect(storeFailureOf(systemError(code))).toBeUndefined(),
  )
})
