import { existsSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { KeysFile } from '../../main/store/keys.ts'
import { testFolder } from '../support/folder.ts'

/** Public keys of RFC 8032, section 7.1: TEST 1 and TEST 2. */
const TEST_1 = 'd75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a'
const TEST_2 = '3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c'
const NOW = '2026-11-25T08:00:00.000Z'
const typed = { keyId: 'aldwick-2026', maker: 'Aldwick', publicKey: TEST_1 }

let folder: ReturnType<typeof testFolder>
let file: KeysFile
beforeEach(() => {
  folder = testFolder('keys')
  file = new KeysFile(folder.path, () => NOW)
})
afterEach(() => folder.remove())
const path = () => join(folder.path, 'keys.json')
const again = () => new KeysFile(folder.path, () => NOW).get()
const problemsOf = async (work: Promise<unknown>) => {
  const error = await work.then(
    () => expect.fail('it was done'),
    e => e,
  )
  return error.problems ?? [error.problem]
}

describe('trusted keys', () => {
  it('are none at first, and kept for the next start', async () => {
    expect(await file.get()).toEqual({ keys: [] })
    await file.add({ keyId: 'tamsin-1', maker: 'Tamsin', publicKey: TEST_2 })
    await file.add(typed)
    expect((await again()).keys.map(k => k.keyId)).toEqual(['aldwick-2026', 'tamsin-1'])
    expect((await again()).keys[0]).toEqual({ ...typed, added: NOW })
  })

  it('may be pasted with blanks, colons, line ends and capitals', async () => {
    const pasted = TEST_1.toUpperCase()
      .replaceAll(/(..)/g, '$1:')
      .replace(/(.{48})/, '$1\n ')
    expect((await file.add({ ...typed, publicKey: pasted }))[0].publicKey).toBe(TEST_1)
  })

  it.each([
    ['publicKey', { publicKey: TEST_1.slice(1) }],
    // y = 2 is no point of the curve; RFC 8032, section 5.1.3.
    ['publicKey', { publicKey: `02${'0'.repeat(62)}` }],
    ['keyId', { keyId: ' ' }],
    ['maker', { maker: '' }],
  ])('say which field is wrong: %s', async (field, change) => {
    expect(await problemsOf(file.add({ ...typed, ...change }))).toMatchObject([{ code: 'keys.field', field }])
    expect(existsSync(path())).toBe(false)
  })

  it('have each name once', async () => {
    await file.add(typed)
    expect(await problemsOf(file.add({ ...typed, publicKey: TEST_2 }))).toMatchObject([
      { code: 'keys.known' },
    ])
  })

  it('can be removed, and brought back as they were', async () => {
    await file.add({ ...typed, added: '2025-01-01T00:00:00Z' })
    const { removed, keys } = await file.remove('aldwick-2026')
    expect(keys).toEqual([])
    expect(await file.add(removed)).toEqual([removed])
    expect(removed.added).toBe('2025-01-01T00:00:00Z')
    expect(await problemsOf(file.remove('nobody'))).toMatchObject([{ code: 'keys.unknown' }])
  })

  it('come from a file, all or none', async () => {
    await file.add(typed)
    const tamsin = { keyId: 'tamsin-1', maker: 'Tamsin', publicKey: TEST_2, added: NOW }
    const list = (...keys: unknown[]) => JSON.stringify(keys)
    expect(await file.import(list({ ...typed, added: NOW }, tamsin), 'k.json')).toMatchObject({
      added: [tamsin],
      known: 1,
    })
    expect(await problemsOf(file.import(list({ ...tamsin, publicKey: TEST_1 }), 'k.json'))).toMatchObject([
      { code: 'keys.other', file: 'k.json' },
    ])
    expect(await problemsOf(file.import('[{]', 'k.json'))).toMatchObject([{ code: 'keys.not-json', line: 1 }])
    expect(await problemsOf(file.import(list({ ...tamsin, publicKey: 'x' }), 'k.json'))).toMatchObject([
      { code: 'keys.field', field: '[0].publicKey', message: 'This cannot be "x".' },
    ])
  })

  it('a damaged file means that none is trusted; it is said, and kept aside when one is added', async () => {
    writeFileSync(path(), '[\n{"keyId":')
    expect(await file.get()).toMatchObject({ keys: [], problem: { code: 'keys.damaged', line: 2 } })
    await file.add(typed)
    expect(await again()).toMatchObject({ keys: [typed] })
    expect(readFileSync(`${path()}.damaged`, 'utf8')).toBe('[\n{"keyId":')
  })
})
