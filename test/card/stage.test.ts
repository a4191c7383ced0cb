import { createHash } from 'node:crypto'
import { mkdirSync, readdirSync, readFileSync, renameSync, rmSync, symlinkSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { carryOut } from '../../main/card/carry-out.ts'
import { type StageRequest, stageOnVolume } from '../../main/card/stage.ts'
import { MANIFEST_NAME, readManifest } from '../../shared/card/manifest.ts'
import { checkCardPath } from '../../shared/card/names.ts'
import { readImageCard } from '../../shared/image/image-card.ts'
import { partPath } from '../../shared/procedure/stage.ts'
import { AT, asCard, demoImage, snapshot, spoiledSteps, systemError } from '../support/card-fixture.ts'
import { type TestFolder, testFolder } from '../support/folder.ts'

let folder: TestFolder
let card: string
beforeEach(() => {
  folder = testFolder('card')
  card = join(folder.path, 'CARD')
  mkdirSync(card)
})
afterEach(() => folder.remove())

const wren = demoImage()
const stage = (more: Partial<StageRequest> = {}) =>
  stageOnVolume({ image: wren, target: asCard(card), folder: 'IMAGES', at: AT, ...more })

async function staged(more: Partial<StageRequest> = {}) {
  const result = await stage(more)
  if (!result.ok) throw new Error(result.problems.map(p => p.message).join())
  return result
}
async function problemOf(more: Partial<StageRequest> = {}) {
  const result = await stage(more)
  if (result.ok) throw new Error('it was staged all the same')
  return result.problems[0]
}
const parts = () => readdirSync(card, { recursive: true, encoding: 'utf8' }).filter(n => n.endsWith('.part'))

describe('staging on a volume', () => {
  it('puts image, image card and manifest there, and says the digest of what lies there', async () => {
    const { value, warnings } = await staged()
    const octets = readFileSync(value.path)
    expect(octets.equals(Buffer.from(wren.payload))).toBe(true)
    expect(createHash('sha256').update(octets).digest('hex')).toBe(value.sha256)
    expect(readImageCard(readFileSync(value.cardPath, 'utf8'), 'card')).toMatchObject({ value: wren.card })
    expect(readManifest(readFileSync(value.manifestPath, 'utf8'), 'm')).toMatchObject({
      value: value.manifest,
    })
    const [listed] = value.manifest.images
    expect(listed).toMatchObject({ name: 'aldwick-wren-6-2.4.0.image', typeId: 'aldwick-wren-6', staged: AT })
    expect(createHash('sha256').update(readFileSync(value.cardPath)).digest('hex')).toBe(listed.cardSha256)
    expect(readdirSync(join(card, 'IMAGES')).sort()).toEqual(
      [listed.cardName, listed.name, MANIFEST_NAME].sort(),
    )
    expect(warnings).toEqual([])
    expect(value.eject).toMatch(/eject/)
  })

  it('tells its progress up to the whole', async () => {
    const told: [number, number][] = []
    await staged({ onProgress: (done, total) => told.push([done, total]) })
    const [done, total] = told.at(-1)!
    expect(done).toBe(total)
    expect(total).toBeGreaterThan(2 * wren.payload.length)
    for (let i = 1; i < told.length; i++) expect(told[i][0]).toBeGreaterThan(told[i - 1][0])
  })

  it('does it twice with the same end, and beside another image', async () => {
    const first = await staged()
    const before = snapshot(card)
    expect((await staged()).value.sha256).toBe(first.value.sha256)
    expect(snapshot(card)).toEqual(before)
    const other = await staged({ image: demoImage('heron-8-1.7.0') })
    expect(other.value.manifest.images.map(i => i.typeId)).toEqual(['aldwick-wren-6', 'tamsin-heron-8'])
  })

  it('takes the top of the card and folders in folders', async () => {
    expect((await staged({ folder: '' })).value.path).toBe(join(card, 'aldwick-wren-6-2.4.0.image'))
    expect((await staged({ folder: '/A/B/' })).value.path).toBe(
      join(card, 'A', 'B', 'aldwick-wren-6-2.4.0.image'),
    )
  })

  it('uses a folder that is there under its own spelling', async () => {
    mkdirSync(join(card, 'Images'))
    expect((await staged()).value.path).toContain(join('CARD', 'Images'))
    expect(readdirSync(card)).toEqual(['Images'])
  })

  it('names what desktop systems left there, and touches none of it', async () => {
    mkdirSync(join(card, 'IMAGES'))
    writeFileSync(join(card, '.DS_Store'), 'x')
    writeFileSync(join(card, 'IMAGES', '._a.image'), 'x')
    expect((await staged()).value.junk.toSorted()).toEqual(['.DS_Store', 'IMAGES/._a.image'])
    expect(readFileSync(join(card, '.DS_Store'), 'utf8')).toBe('x')
  })

  it('begins a new manifest where the old one is damaged, and says so', async () => {
    const { value } = await staged()
    writeFileSync(value.manifestPath, '{"format": ')
    const again = await staged({ image: demoImage('heron-8-1.7.0') })
    expect(again.warnings[0]).toMatchObject({ code: 'manifest.not-json', file: value.manifestPath })
    expect(again.value.manifest.images).toHaveLength(1)
  })
})

describe('the order of staging', () => {
  it('flushes and reads back all that belongs together before the first of it gets its name', async () => {
    const seen: string[] = []
    const steps = spoiledSteps((step, _, path) => {
      if ((step === 'sync' || step === 'read') && path.endsWith('.part')) seen.push(step)
      if (step === 'rename') seen.push(`rename ${path.replace(/^.*\./, '')}`)
    })
    await staged({ steps })
    const first = seen.indexOf('rename part')
    expect(seen.slice(first)).toEqual(Array(3).fill('rename part'))
    expect(seen.filter(step => step === 'sync')).toHaveLength(3)
    expect(seen.slice(0, first).filter(step => step === 'read').length).toBeGreaterThanOrEqual(
      Math.ceil(wren.payload.length / (16 * 1024)) + 2,
    )
  })

  it('gives even the longest name a temporary one that a card takes', () => {
    expect(partPath('A/b.image')).toBe('A/b.image.part')
    for (const name of ['n'.repeat(255), `${'n'.repeat(249)}\u{1F6E9}x`]) {
      const part = partPath(`A/${name}`)
      expect(checkCardPath(part.slice(2))).toEqual([])
      expect(part.endsWith('.part')).toBe(true)
    }
  })
})

describe('staging refuses', () => {
  it('a damaged image, before anything is touched', async () => {
    const damaged = { ...wren, facts: { ...wren.facts, intact: false } }
    expect(await problemOf({ image: damaged })).toMatchObject({ code: 'image.damaged' })
    expect(readdirSync(card)).toEqual([])
  })

  it.each([
    ['../outside', 'name.dots'],
    ['A/../../outside', 'name.dots'],
    ['NUL', 'name.reserved'],
    ['a:b', 'name.characters'],
    ['a\\..\\b', 'name.characters'],
    ['x'.repeat(256), 'name.too-long'],
    [`${'x'.repeat(120)}/${'y'.repeat(120)}`, 'path.too-long'],
  ])('the folder %j', async (name, code) => {
    expect(await problemOf({ folder: name })).toMatchObject({ code })
    expect(readdirSync(folder.path)).toEqual(['CARD'])
    expect(readdirSync(card)).toEqual([])
  })

  it('a name that the card would take for another file that is there', async () => {
    mkdirSync(join(card, 'IMAGES'))
    writeFileSync(join(card, 'IMAGES', 'ALDWICK-WREN-6-2.4.0.IMAGE'), 'somebody else')
    const problem = await problemOf()
    expect(problem).toMatchObject({ code: 'name.collision', file: 'IMAGES/ALDWICK-WREN-6-2.4.0.IMAGE' })
    expect(problem.remedy).toContain('ALDWICK')
    expect(readdirSync(join(card, 'IMAGES'))).toEqual(['ALDWICK-WREN-6-2.4.0.IMAGE'])
  })

  it('to follow links out of the card', async () => {
    const outside = join(folder.path, 'outside')
    mkdirSync(outside)
    writeFileSync(join(outside, 'file'), 'untouched')
    symlinkSync(outside, join(card, 'IMAGES'))
    expect(await problemOf()).toMatchObject({ code: 'stage.card-unreadable' })
    mkdirSync(join(card, 'OTHER'))
    symlinkSync(join(outside, 'file'), join(card, 'OTHER', 'aldwick-wren-6-2.4.0.image'))
    symlinkSync(join(outside, 'file'), join(card, 'OTHER', 'aldwick-wren-6-2.4.0.image.part'))
    expect(await problemOf({ folder: 'OTHER' })).toMatchObject({ code: 'stage.card-unreadable' })
    expect(snapshot(outside)).toEqual({ file: Buffer.from('untouched').toString('base64') })
  })

  it('too little room, counted in clusters, before anything is written', async () => {
    const steps = spoiledSteps(() => {})
    const tight = {
      ...steps,
      statfs: async () => ({ type: 0, bsize: 4096, blocks: 99, bfree: 66, bavail: 66 }),
    }
    const problem = await problemOf({ steps: tight as unknown as typeof steps })
    // 64 clusters of image, one each of card and manifest, one of the folder, one for the top folder to grow.
    expect(problem).toMatchObject({ code: 'stage.card-full' })
    expect(problem.message).toContain(`${68 * 4096} octets are needed`)
    expect(readdirSync(card)).toEqual([])
  })
})

describe('a card that fails in the middle', () => {
  const OLD = 'an older file of the same name'
  beforeEach(() => {
    mkdirSync(join(card, 'IMAGES'))
    writeFileSync(join(card, 'IMAGES', 'aldwick-wren-6-2.4.0.image'), OLD)
  })

  const errors = [
    ['ENOSPC', 'stage.card-full', /full/],
    ['EROFS', 'stage.card-read-only', /read only/],
    ['EIO', 'stage.card-unreadable', /cannot be read/],
    ['ENODEV', 'stage.card-absent', /not there/],
    ['ENAMETOOLONG', 'stage.card-unreadable', /name/],
  ] as const
  for (const [errno, code, words] of errors)
    for (const [step, nth] of [
      ['open', 1],
      ['write', 1],
      ['write', 9],
      ['sync', 1],
      ['read', 3],
      ['rename', 1],
    ] as const)
      it(`${errno} at ${step} ${nth}: clear message, old file intact, no part file`, async () => {
        const before = snapshot(card)
        let hit = false
        const steps = spoiledSteps((asked, count) => {
          if (asked !== step || count !== nth) return
          hit = true
          throw systemError(errno)
        })
        const problem = await problemOf({ steps })
        expect(hit).toBe(true)
        expect(problem.code).toBe(code)
        expect(problem.message).toMatch(words)
        expect(problem.message).toContain('What was on the card before is as it was.')
        expect(problem.remedy).toBeTruthy()
        expect(snapshot(card)).toEqual(before)
      })

  it('with what it gives back changed: says so, and keeps the old file', async () => {
    const before = snapshot(card)
    let changed = false
    const steps = spoiledSteps((step, _, path) => {
      // The device turns one bit between writing and reading back.
      if (step !== 'read' || changed || !path.endsWith('.image.part')) return
      changed = true
      const octets = readFileSync(path)
      octets[100_000] ^= 4
      writeFileSync(path, octets)
    })
    expect(await problemOf({ steps })).toMatchObject({
      code: 'stage.card-unreadable',
      message: expect.stringContaining('not what was written'),
    })
    expect(changed).toBe(true)
    expect(snapshot(card)).toEqual(before)
  })

  it('pulled: removed with all that is on it', async () => {
    const steps = spoiledSteps((step, nth) => {
      if (step === 'write' && nth === 5) rmSync(card, { recursive: true })
    })
    expect(await problemOf({ steps })).toMatchObject({ code: 'stage.card-absent' })
    expect(readdirSync(folder.path)).toEqual([])
  })

  it('pulled, with an empty folder left in its place: nothing is written there', async () => {
    const steps = spoiledSteps((step, nth) => {
      if (step !== 'write' || nth !== 5) return
      renameSync(card, join(folder.path, 'in-the-hand'))
      mkdirSync(card)
    })
    const problem = await problemOf({ steps })
    expect(problem.code).toBe('stage.card-absent')
    expect(problem.message).toContain('may be left on it')
    expect(readdirSync(card)).toEqual([])
    // And the next time, what was left is cleared away.
    rmSync(card, { recursive: true })
    renameSync(join(folder.path, 'in-the-hand'), card)
    expect(parts()).toHaveLength(1)
    await staged()
    expect(parts()).toEqual([])
  })

  it('says so when only part of what belongs together has got its name', async () => {
    const steps = spoiledSteps((step, nth) => {
      if (step === 'rename' && nth === 2) throw systemError('EIO')
    })
    const problem = await problemOf({ steps })
    expect(problem.message).toContain('do not use it before it is staged again')
    expect(parts()).toEqual([])
  })

  it('lets an error that says nothing about the card through, and still clears up', async () => {
    const before = snapshot(card)
    const steps = spoiledSteps((step, nth) => {
      if (step === 'write' && nth === 3) throw systemError('EMFILE')
    })
    await expect(stage({ steps })).rejects.toThrow('EMFILE')
    expect(snapshot(card)).toEqual(before)
  })

  it('without its folder before leaves none behind', async () => {
    const steps = spoiledSteps((step, nth) => {
      if (step === 'write' && nth === 3) throw systemError('ENOSPC')
    })
    await problemOf({ steps, folder: 'NEW/DEEP' })
    expect(readdirSync(card)).toEqual(['IMAGES'])
  })
})

describe('stopping', () => {
  it('at any moment before the first name leaves everything as it was', async () => {
    const total = 2 * wren.payload.length
    for (const at of [0, 1, total / 4, total / 2, total]) {
      const before = snapshot(card)
      const stop = new AbortController()
      if (at === 0) stop.abort()
      const onProgress = (done: number) => done >= at && stop.abort()
      expect(await problemOf({ signal: stop.signal, onProgress })).toMatchObject({ code: 'stage.cancelled' })
      expect(snapshot(card)).toEqual(before)
      expect(readdirSync(card)).toEqual([])
    }
  })

  it('after the first name is too late: all that belongs together follows', async () => {
    const stop = new AbortController()
    const steps = spoiledSteps(step => {
      if (step === 'rename') stop.abort()
    })
    const { value } = await staged({ signal: stop.signal, steps })
    expect(readdirSync(join(card, 'IMAGES'))).toHaveLength(3)
    expect(value.sha256).toBe(wren.card.sha256)
  })

  it('is no effect that a volume answers', async () => {
    const wait = (function* () {
      yield { do: 'wait', ms: 1 } as const
    })()
    await expect(carryOut(wait, { ask: async () => ({ got: 'done' }) })).rejects.toThrow('cannot wait')
  })
})
