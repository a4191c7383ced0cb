import { createHash } from 'node:crypto'
import { mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { createHandlers } from '../../main/handlers/index.ts'
import { type CardProgress, DOINGS, type StagedReply } from '../../shared/api/card.ts'
import { contract } from '../../shared/api/contract.ts'
import { makeEvents, type Serve, serveContract } from '../../shared/api/serve.ts'
import { demoBench } from '../../shared/demo/bench.ts'
import { buildImage } from '../../shared/image/build.ts'
import { writeIntelHex } from '../../shared/image/write-intel-hex.ts'
import type { Problem } from '../../shared/model/problem.ts'
import { filesOf, wrenSpec } from '../renderer/firmware/sources.ts'
import { demoImage, snapshot, spoiledSteps, systemError } from '../support/card-fixture.ts'
import { cardVolume, type PullableCard, pullableCard } from '../support/card-host.ts'
import { freeBytes, fsckComplaints, makeFat32, mtool } from '../support/fat.ts'
import { type TestFolder, testFolder } from '../support/folder.ts'
import { lacks } from '../support/tools.ts'

const bench = demoBench()
interface Imported {
  readonly imported: readonly { readonly entry: { readonly id: string } }[]
}
const NAME = 'aldwick-wren-6-2.4.0.image'
let folder: TestFolder
let card: PullableCard
let serve: Serve
let progress: CardProgress[]

function serving(env = card.env): Serve {
  const events = makeEvents(contract)
  events.listen((event, data) => event === 'card.progress' && progress.push(data as CardProgress))
  const handlers = createHandlers({ hostKind: 'browser', dataFolder: folder.path, events, card: env })
  return serveContract(contract, handlers, error => expect.fail(String(error)))
}

beforeEach(() => {
  folder = testFolder('card-handlers')
  card = pullableCard()
  progress = []
  serve = serving()
})
afterEach(() => {
  folder.remove()
  card.remove()
})

async function answered<T>(method: string, request: unknown): Promise<T> {
  const outcome = await serve(method, request)
  if (!outcome.ok) throw new Error(outcome.problems.map(p => `${p.code} ${p.message}`).join())
  return outcome.reply as T
}
async function refused(method: string, request: unknown): Promise<readonly Problem[]> {
  const outcome = await serve(method, request)
  if (outcome.ok) throw new Error(`${method} was answered`)
  return outcome.problems
}
const wish = (more: object = {}) => ({
  bench,
  receiverId: 'wren-trainer',
  image: { kind: 'bench', imageId: 'wren-6-2.4.0' },
  place: { path: card.root, folderOnly: false },
  folder: 'IMAGES',
  ...more,
})
const job = (more: object = {}) => wish({ jobId: 'one', acknowledged: [], ...more })
const stage = (more: object = {}) => answered<StagedReply>('card.stage', job(more))

describe('card.volumes', () => {
  it('lists what is mounted, what is refused with its reason among it', async () => {
    const { volumes } = await answered<{ volumes: { path: string; refusal?: Problem }[] }>('card.volumes', {})
    expect(volumes.map(v => [v.path, v.refusal?.code])).toEqual([
      ['/', 'volume.system'],
      [card.root, undefined],
    ])
    expect(volumes[0].refusal?.message).toContain('not a card')
    card.pull()
    expect(await answered('card.volumes', {})).toMatchObject({ volumes: [{ path: '/' }] })
  })

  it('refuses one that is read only, and says where the lock is', async () => {
    serve = serving({ ...card.env, volumes: async () => [cardVolume(card.root, { readOnly: true })] })
    expect(await answered('card.volumes', {})).toMatchObject({
      volumes: [{ refusal: { code: 'volume.read-only', remedy: expect.stringContaining('lock') } }],
    })
    expect((await refused('card.stage', job()))[0].code).toBe('volume.read-only')
  })

  it('says so where the system does not tell', async () => {
    serve = serving({ volumes: () => Promise.reject(new Error('no such command')) })
    expect((await refused('card.volumes', {}))[0]).toMatchObject({ code: 'volume.list' })
  })
})

describe('card.plan', () => {
  it('says what would be written and how much room it takes, and changes nothing', async () => {
    mkdirSync(join(card.root, 'Images'))
    writeFileSync(join(card.root, 'Images', NAME), 'older')
    const before = snapshot(card.root)
    const plan = await answered<Record<string, unknown>>('card.plan', wish())
    expect(plan).toMatchObject({
      place: { root: card.root, kind: 'card' },
      folder: 'Images',
      sha256: demoImage().card.sha256,
      problems: [],
      others: [],
    })
    expect(plan.files).toMatchObject([
      { name: NAME, bytes: demoImage().payload.length, replaces: true },
      { name: 'aldwick-wren-6-2.4.0.card.json', replaces: false },
      { name: 'preflash-manifest.json', replaces: false },
    ])
    expect(snapshot(card.root)).toEqual(before)
  })

  it('tells too little room as a problem beside the numbers', async () => {
    const statfs = async () => ({ type: 0, bsize: 4096, blocks: 99, bfree: 66, bavail: 66 })
    serve = serving({ ...card.env, steps: { ...card.env.steps!, statfs } as never })
    const plan = await answered<{ needBytes: number; freeBytes: number; problems: Problem[] }>(
      'card.plan',
      wish(),
    )
    expect(plan).toMatchObject({ needBytes: 68 * 4096, freeBytes: 66 * 4096 })
    expect(plan.problems[0].code).toBe('stage.card-full')
    expect((await refused('card.stage', job()))[0].code).toBe('stage.card-full')
  })

  it.each([
    ['NUL', 'name.reserved'],
    ['a:b', 'name.characters'],
    ['../up', 'name.dots'],
  ])('refuses the folder %j', async (name, code) => {
    expect((await refused('card.plan', wish({ folder: name })))[0].code).toBe(code)
  })
})

describe('card.stage', () => {
  it('puts the image there, tells what it is doing, and how it was read back', async () => {
    const staged = await stage({ cardName: 'Club Tarn' })
    const octets = readFileSync(join(card.root, 'IMAGES', NAME))
    expect(createHash('sha256').update(octets).digest('hex')).toBe(staged.sha256)
    expect(staged).toMatchObject({
      path: join(card.root, 'IMAGES', NAME),
      bytes: octets.length,
      place: { kind: 'card' },
      manifest: { cardName: 'Club Tarn' },
    })
    expect(staged.eject).toContain('eject')
    expect([...new Set(progress.map(p => p.doing))].toSorted()).toEqual([...DOINGS].toSorted())
    expect(progress.at(-1)!.done).toBe(progress.at(-1)!.total)
    expect(progress.every(p => p.jobId === 'one')).toBe(true)
    // Without a name, the card keeps the one that it has.
    expect((await stage()).manifest.cardName).toBe('Club Tarn')
  })

  it('pulled in the middle: says so, keeps the old file, and stages again', async () => {
    await stage()
    writeFileSync(join(card.root, 'IMAGES', NAME), 'the old image')
    card.onWrite(nth => {
      if (nth === 5) card.pull()
    })
    const [problem] = await refused('card.stage', job())
    expect(problem.code).toBe('stage.card-absent')
    expect(problem.message).toContain('What was on the card before is as it was')
    expect(readFileSync(join(card.root, 'IMAGES', NAME), 'utf8')).toBe('the old image')
    card.onWrite(() => {})
    card.putIn()
    expect((await stage()).sha256).toBe(demoImage().card.sha256)
    expect(readdirSync(join(card.root, 'IMAGES')).filter(name => name.endsWith('.part'))).toEqual([])
  })

  it.each([
    ['ENOSPC', 'write', 4, 'stage.card-full', 'Delete what is not needed'],
    ['EROFS', 'rename', 1, 'stage.card-read-only', 'Slide the lock'],
    ['EIO', 'read', 2, 'stage.card-unreadable', 'Do not trust this card'],
  ] as const)('%s at %s %i: says what it is, keeps the old files, and says what to do', async (...row) => {
    const [errno, at, nth, code, remedy] = row
    await stage()
    const before = snapshot(card.root)
    const steps = spoiledSteps((step, count) => {
      if (step === at && count === nth) throw systemError(errno)
    })
    serve = serving({ ...card.env, steps })
    const [problem] = await refused('card.stage', job())
    expect(problem).toMatchObject({ code, remedy: expect.stringContaining(remedy) })
    expect(problem.message).toContain('What was on the card before is as it was.')
    expect(snapshot(card.root)).toEqual(before)
  })

  it('is stopped by card.cancel, leaves everything as it was, and takes no second job on one card', async () => {
    let second: readonly Problem[] = []
    card.onWrite(async nth => {
      if (nth !== 3) return
      second = await refused('card.stage', job({ jobId: 'two' }))
      expect(await answered('card.cancel', { jobId: 'one' })).toEqual({ asked: true })
    })
    expect((await refused('card.stage', job()))[0].code).toBe('stage.cancelled')
    expect(second[0].code).toBe('stage.busy')
    expect(snapshot(card.root)).toEqual({})
    expect(await answered('card.cancel', { jobId: 'one' })).toEqual({ asked: false })
  })

  it('refuses the system’s disk and places of the system, with the reason', async () => {
    const at = (path: string, folderOnly = false) => job({ place: { path, folderOnly } })
    for (const folderOnly of [false, true])
      for (const path of ['/', '/etc', '/usr/share'])
        expect((await refused('card.stage', at(path, folderOnly)))[0].code).toBe('volume.system')
    expect((await refused('card.stage', at(join(card.root, 'nowhere'))))[0].code).toBe('volume.missing')
  })

  it('takes a plain folder, and says that it is none of a card', async () => {
    const place = { path: folder.path, folderOnly: true }
    expect((await stage({ place })).eject).toContain('only a folder')
    // A folder inside the card is taken only when a person calls it a folder.
    const inside = join(card.root, 'INSIDE')
    mkdirSync(inside)
    const [problem] = await refused('card.stage', job({ place: { path: inside, folderOnly: false } }))
    expect(problem).toMatchObject({ code: 'volume.inside' })
    expect(problem.remedy).not.toContain('--')
    // And the card itself stays a card, however it was named.
    expect(await stage({ place: { path: card.root, folderOnly: true } })).toMatchObject({
      place: { kind: 'card' },
    })
  })

  it('refuses an image for another type, and one that breaks a rule between image and receiver', async () => {
    const other = { image: { kind: 'bench', imageId: 'heron-8-1.7.0' } }
    const [problem] = await refused('card.stage', job(other))
    expect(problem.code).toBe('image.other-type')
    expect(problem.message).toContain('Tamsin Heron 8')
    const region = bench.receivers.map(r =>
      r.id === 'wren-trainer' ? { ...r, region: 'hopping' as const } : r,
    )
    const codes = (await refused('card.stage', job({ bench: { ...bench, receivers: region } }))).map(
      p => p.code,
    )
    expect(codes).toEqual(['fit.image-region'])
    expect(snapshot(card.root)).toEqual({})
  })

  it('takes what is not known only when it was taken note of', async () => {
    const unmarked = { receiverId: 'wren-unmarked' }
    const { cautions } = await answered<{ cautions: { rule: string }[] }>('card.plan', wish(unmarked))
    expect(cautions.map(c => c.rule)).toEqual(expect.arrayContaining(['image-hardware', 'image-region']))
    const problems = await refused('card.stage', job(unmarked))
    expect(problems.map(p => p.code)).toContain('stage.not-acknowledged')
    expect(snapshot(card.root)).toEqual({})
    expect(problems).toHaveLength(cautions.length)
    const acknowledged = cautions.map(c => c.rule)
    expect((await stage({ ...unmarked, acknowledged })).sha256).toBe(demoImage().card.sha256)
  })

  it('is kept off a card for a receiver whose type nobody knows', async () => {
    const receivers = bench.receivers.map(r => (r.id === 'wren-trainer' ? { ...r, typeId: 'unknown' } : r))
    const [problem] = await refused('card.stage', job({ bench: { ...bench, receivers } }))
    expect(problem.code).toBe('bench.type-not-known')
    expect((await refused('card.stage', job({ receiverId: 'nobody' })))[0].code).toBe('bench.no-receiver')
  })

  it('leaves out what lies outside program flash only when asked to', async () => {
    const { segments } = buildImage(wrenSpec)
    const hex = writeIntelHex([...segments, { address: 0x0020_0000, octets: Uint8Array.of(1, 2, 3) }])
    const files = [{ fileName: 'wren.hex', octets: new TextEncoder().encode(hex) }]
    const { imported } = await answered<Imported>('library.import', { files })
    const acknowledged = ['image-intact', 'image-hardware']
    const more = { image: { kind: 'library', id: imported[0].entry.id }, acknowledged }
    expect((await refused('card.stage', job(more))).map(p => p.code)).toEqual(['fit.image-place'])
    const plan = await answered('card.plan', wish({ image: more.image, dropOutside: true }))
    expect(plan).toMatchObject({ droppedOutsideBytes: 3 })
    expect((await stage({ ...more, dropOutside: true })).bytes).toBe(wrenSpec.sizeBytes)
  })

  it('stages an image of the library', async () => {
    const { hex, card: cardText } = filesOf(wrenSpec)
    const octets = new TextEncoder().encode(hex)
    const { imported } = await answered<Imported>('library.import', {
      files: [{ fileName: 'wren.hex', octets, cardText }],
    })
    const staged = await stage({ image: { kind: 'library', id: imported[0].entry.id } })
    expect(staged.path).toContain('aldwick-wren-6-2.5.0.image')
    expect(staged.bytes).toBe(wrenSpec.sizeBytes)
  })
})

describe('card.check', () => {
  const check = (more: object = {}) => ({
    bench,
    place: { path: card.root, folderOnly: false },
    folder: 'IMAGES',
    ...more,
  })

  it('says what is there, for which receivers, and what has changed since', async () => {
    await stage()
    await stage({ image: { kind: 'bench', imageId: 'wren-6-2.1.0' }, acknowledged: ['image-order'] })
    const path = join(card.root, 'IMAGES', NAME)
    const octets = readFileSync(path)
    octets[7] ^= 1
    writeFileSync(path, octets)
    writeFileSync(join(card.root, 'IMAGES', '._x'), 'x')
    const reply = await answered<Record<string, unknown> & { images: object[] }>('card.check', check())
    expect(reply.images).toMatchObject([
      { image: { name: 'aldwick-wren-6-2.1.0.image' }, state: 'intact', stale: { kind: 'superseded' } },
      { image: { name: NAME }, state: 'changed', receivers: expect.arrayContaining(['wren-trainer']) },
    ])
    expect(reply).toMatchObject({ junk: ['._x'], leftOver: [], unlisted: [] })
  })

  it('says that there is no list, where there is one, and that a card was pulled', async () => {
    expect((await refused('card.check', check()))[0].code).toBe('manifest.missing')
    await stage({ folder: 'ELSEWHERE' })
    expect((await refused('card.check', check()))[0].remedy).toBe('There is one in ELSEWHERE.')
    await stage()
    card.pull()
    expect((await refused('card.check', check()))[0].code).toMatch(/^(check\.card-absent|volume\.)/)
  })
})

describe.skipIf(lacks('mkfs.fat', 'mcopy'))('a FAT32 volume of dosfstools, seen by mtools', () => {
  it('takes no more of the card than the plan has said', async () => {
    const image = join(folder.path, 'card.img')
    makeFat32(image, 40, 1)
    const free = freeBytes(image)
    const statfs = async () => ({ type: 0, bsize: 512, blocks: 9e4, bfree: 9e4, bavail: 9e4 })
    serve = serving({ ...card.env, steps: { ...card.env.steps!, statfs } as never })
    const { needBytes } = await answered<{ needBytes: number }>('card.plan', wish())
    await stage()
    mtool('mcopy', image, '-s', join(card.root, 'IMAGES'), '::')
    const taken = free - freeBytes(image)
    expect(needBytes).toBeGreaterThanOrEqual(taken)
    // The top folder may have to grow for the new name, and here did not.
    expect(needBytes - taken).toBeLessThanOrEqual(512)
    expect(fsckComplaints(image)).toBe('')
  })
})
