import { readdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it, onTestFinished } from 'vitest'
import { Draft } from '../../main/store/draft.ts'
import { headOfRow } from '../../main/store/journal-rows.ts'
import { readJson } from '../../main/store/read-json.ts'
import { SettingsFile } from '../../main/store/settings.ts'
import { emptyState, readWatchedState, writeWatchedState } from '../../main/store/watched-state.ts'
import { demoBench } from '../../shared/demo/bench.ts'
import { ProblemError } from '../../shared/model/problem.ts'
import { testFolder } from '../support/folder.ts'

const deep = (levels: number) => '['.repeat(levels) + ']'.repeat(levels)
/** The same JSON object with a field that nobody reads and that lies so deep. */
const withDeep = (json: object, levels: number) =>
  `{\n"x": ${deep(levels - 1)},\n${JSON.stringify(json).slice(1)}`
const here = () => {
  const folder = testFolder('read-json')
  onTestFinished(() => folder.remove())
  return folder.path
}

describe('a file that this program wrote, and another may have written into', () => {
  it('is read down to a hundred levels; deeper, or broken, it is named with its line and what to do', () => {
    expect(readJson('{"a": [1]}', 'a.json')).toEqual({ a: [1] })
    expect(readJson(deep(100), 'a.json')).toBeInstanceOf(Array)
    const refused = (text: string) => {
      try {
        readJson(text, '/data/a.json')
      } catch (error) {
        return error instanceof ProblemError ? error.problem : undefined
      }
    }
    expect(refused(withDeep({}, 101))).toMatchObject({
      ...{ code: 'file.not-json', file: '/data/a.json', line: 2 },
      message: 'The file cannot be read: lists and objects lie more than 100 deep in one another.',
      remedy: expect.stringMatching(/put the file aside/),
    })
    expect(refused('{\n"a": 1\n')).toMatchObject({
      message: 'The file cannot be read: its text is not valid JSON.',
    })
    // Millions of brackets would cost a parser seconds, or its stack.
    expect(refused('['.repeat(4_000_000))).toMatchObject({ line: 1 })
  })

  it.each([100, 101])(
    'settings, draft and watched folder hold to that, and lose nothing: %i',
    async levels => {
      const isRead = levels === 100
      const folder = here()
      const at = (name: string) => join(folder, name)
      const settings = withDeep({ theme: 'dark', rehearse: {} }, levels)
      writeFileSync(at('settings.json'), settings)
      const read = await new SettingsFile(folder).get()
      expect(read.settings.theme).toBe(isRead ? 'dark' : 'system')
      expect(read.problem?.code).toBe(isRead ? undefined : 'settings.damaged')
      const aside = readdirSync(folder).find(name => name.startsWith('settings.'))
      expect(readFileSync(at(aside ?? ''), 'utf8')).toBe(settings)
      writeFileSync(at('draft.json'), withDeep({ bench: demoBench(), file: null }, levels))
      expect((await new Draft(folder).get()) !== null).toBe(isRead)
      const state = { ...emptyState(folder), dealtWith: { 'a.hex': '1 2' } }
      await writeWatchedState(folder, state)
      writeFileSync(at('watched.json'), withDeep(state, levels))
      expect(await readWatchedState(folder, folder)).toEqual(isRead ? state : emptyState(folder))
    },
  )

  it('a row of the logbook likewise', () => {
    const row = {
      ...{ id: '017f22e2-79b0-7cc3-98c4-dc0c0c07398f', kind: 'write', receiverId: null, nickname: null },
      ...{ typeId: null, benchName: null, port: null, dialect: null, recovers: null, startedAtMs: 1 },
      ...{ endedAtMs: null, ending: null, outcome: null, importedAtMs: null, eventCount: 0 },
    }
    const imageOf = (levels: number) => {
      const image = { name: 'a.hex', version: '1.2.0', sizeBytes: 3, sha256: 'ab'.repeat(32) }
      return headOfRow({ ...row, image: withDeep(image, levels) }).image
    }
    expect(imageOf(100)).toMatchObject({ name: 'a.hex' })
    expect(() => imageOf(101)).toThrow('a text that is JSON')
  })
})
