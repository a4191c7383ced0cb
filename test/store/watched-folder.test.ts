import { appendFileSync, mkdirSync, readFileSync, renameSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import type { FileToTake } from '../../main/store/library.ts'
import { type Clock, SETTLED_MS, WatchedFolder } from '../../main/store/watched-folder.ts'
import type { Imported } from '../../shared/api/library.ts'
import { entryFor } from '../renderer/firmware/sources.ts'
import { testFolder } from '../support/folder.ts'

let folder: ReturnType<typeof testFolder>
let taken: FileToTake[]
let nowMs: number
let changes: number
let due: { readonly delayMs: number; readonly then: () => void } | undefined
let nudge: () => void
const answers = new Map<string, Partial<Imported>>()
const clock: Clock = {
  nowMs: () => nowMs,
  after(delayMs, then) {
    const mine = { delayMs, then }
    due = mine
    return () => {
      if (due === mine) due = undefined
    }
  },
}
const make = () =>
  new WatchedFolder({
    dataFolder: join(folder.path, 'data'),
    take: async files => {
      taken.push(...files)
      return files.map(({ fileName }): Imported => {
        const answer = answers.get(fileName) ?? { got: 'entry', entry: entryFor(fileName) }
        return { fileName, ...answer } as Imported
      })
    },
    onChange: () => changes++,
    clock,
    watch: (_, changed) => {
      nudge = changed
      return () => {}
    },
  })
const downloads = () => join(folder.path, 'downloads')
const put = (name: string, content: string) => writeFileSync(join(downloads(), name), content)
const names = () => taken.map(file => file.fileName)
let watched: WatchedFolder
async function lookAfter(ms: number) {
  nowMs += ms
  await watched.look()
}

beforeEach(async () => {
  folder = testFolder('watched')
  taken = []
  answers.clear()
  nowMs = 1_000_000
  changes = 0
  due = undefined
  mkdirSync(downloads())
  mkdirSync(join(folder.path, 'data'))
  watched = make()
  await watched.use(downloads())
})
afterEach(() => {
  watched.stop()
  folder.remove()
})

describe('a watched folder', () => {
  it('takes a file in when it has stopped growing, with its card, and once', async () => {
    put('wren.hex', 'first')
    await lookAfter(0)
    expect(names()).toEqual([])
    expect(due?.delayMs).toBe(SETTLED_MS)
    appendFileSync(join(downloads(), 'wren.hex'), ' and more')
    put('wren.card.json', '{}')
    await lookAfter(SETTLED_MS)
    expect(names()).toEqual([])
    await lookAfter(SETTLED_MS - 1)
    expect(names()).toEqual([])
    await lookAfter(1)
    expect(taken).toMatchObject([{ fileName: 'wren.hex', cardText: '{}', among: true }])
    expect(Buffer.from(taken[0].octets).toString()).toBe('first and more')
    expect(watched.state).toMatchObject({ state: 'watching', taken: ['wren.hex'], failed: [] })
    await lookAfter(SETTLED_MS)
    expect(taken).toHaveLength(1)
    expect(changes).toBeGreaterThan(1)
  })

  it('takes a changed file again, and an image whose card came later', async () => {
    put('a.hex', 'one')
    await lookAfter(0)
    await lookAfter(SETTLED_MS)
    put('a.hex', 'another')
    await lookAfter(SETTLED_MS)
    await lookAfter(SETTLED_MS)
    expect(names()).toEqual(['a.hex', 'a.hex'])
    put('a.hex.card.json', '{}')
    await lookAfter(SETTLED_MS)
    await lookAfter(SETTLED_MS)
    expect(taken.map(file => file.cardText)).toEqual([undefined, undefined, '{}'])
  })

  it('looks soon when the system tells of a change, and by itself when it does not', async () => {
    await watched.look()
    expect(due?.delayMs).toBe(5_000)
    nudge()
    expect(due?.delayMs).toBe(500)
  })

  it('remembers over a restart what it has dealt with, and what nobody has read yet', async () => {
    answers.set('bad.hex', {
      got: 'problems',
      problems: [{ code: 'hex.checksum', file: 'bad.hex', line: 10, message: 'The checksum is wrong.' }],
    })
    put('bad.hex', 'bad')
    put('good.hex', 'good')
    await lookAfter(0)
    await lookAfter(SETTLED_MS)
    watched = make()
    await watched.use(downloads())
    await lookAfter(0)
    await lookAfter(SETTLED_MS)
    expect(names()).toEqual(['bad.hex', 'good.hex'])
    expect(watched.state).toMatchObject({ taken: ['good.hex'], failed: [{ fileName: 'bad.hex' }] })
    await watched.seen()
    watched = make()
    await watched.use(downloads())
    expect(watched.state).toMatchObject({ taken: [], failed: [] })
  })

  it('is quiet about what is no image, and says what needs a choice', async () => {
    answers.set('notes.txt', { got: 'problems', problems: [{ code: 'format.text', message: 'Text.' }] })
    answers.set('two.uf2', { got: 'families', families: [7, null] })
    put('notes.txt', 'notes')
    put('two.uf2', 'two')
    put('half.hex.part', 'half')
    put('empty.hex', '')
    await lookAfter(0)
    await lookAfter(SETTLED_MS)
    expect(names()).toEqual(['notes.txt', 'two.uf2'])
    expect(watched.state.failed).toMatchObject([
      { fileName: 'two.uf2', problems: [{ code: 'uf2.families' }] },
    ])
  })

  it('says when the folder is gone, and goes on when it is back', async () => {
    renameSync(downloads(), `${downloads()}-away`)
    await lookAfter(0)
    expect(watched.state.state).toBe('missing')
    renameSync(`${downloads()}-away`, downloads())
    put('a.hex', 'a')
    await lookAfter(5_000)
    expect(watched.state.state).toBe('watching')
    await lookAfter(SETTLED_MS)
    expect(names()).toEqual(['a.hex'])
  })

  it('changes nothing in the folder', async () => {
    put('a.hex', 'a')
    const before = statSync(join(downloads(), 'a.hex'))
    await lookAfter(0)
    await lookAfter(SETTLED_MS)
    const after = statSync(join(downloads(), 'a.hex'))
    expect([after.ino, after.size, after.mtimeMs]).toEqual([before.ino, before.size, before.mtimeMs])
    expect(readFileSync(join(downloads(), 'a.hex'), 'utf8')).toBe('a')
  })

  it('one file that cannot be taken keeps no other out', async () => {
    put('a.hex', 'a')
    put('b.hex', 'b')
    await lookAfter(0)
    rmSync(join(downloads(), 'a.hex'))
    mkdirSync(join(downloads(), 'a.hex'))
    await lookAfter(SETTLED_MS)
    expect(names()).toEqual(['b.hex'])
  })

  it('does nothing when it is off', async () => {
    await watched.use(undefined)
    expect(watched.state).toEqual({ folder: null, state: 'off', taken: [], failed: [] })
    expect(due).toBeUndefined()
    put('a.hex', 'a')
    await lookAfter(0)
    await lookAfter(SETTLED_MS)
    expect(taken).toEqual([])
  })
})
