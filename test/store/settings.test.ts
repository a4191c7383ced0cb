import * as fs from 'node:fs/promises'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { SettingsFile } from '../../main/store/settings.ts'
import { type StoredSettings, settingsSchema } from '../../shared/api/settings.ts'
import type { TestFolder } from '../support/folder.ts'
import { testFolder } from '../support/folder.ts'

const defaults: StoredSettings = { theme: 'system', rehearse: {} }
const mine: StoredSettings = { theme: 'dark', lastBench: 'club.preflash.json', rehearse: { seed: '7' } }

describe('settings', () => {
  let folder: TestFolder
  beforeEach(() => {
    folder = testFolder('settings')
  })
  afterEach(() => folder.remove())
  const at = (name: string) => join(folder.path, name)

  it('are the defaults at first, and then what was set', async () => {
    const file = new SettingsFile(folder.path)
    expect(await file.get()).toEqual({ settings: defaults })
    expect(await file.set(mine)).toEqual(mine)
    expect(await new SettingsFile(folder.path).get()).toEqual({ settings: mine })
  })

  it('of an older version are filled in', () => {
    expect(settingsSchema.parse({ theme: 'contrast', gone: 1 })).toEqual({ ...defaults, theme: 'contrast' })
  })

  it('keep how the fleet was left, within bounds', async () => {
    const left = { ...mine, fleet: { part: 'inventory', 'list-receivers': '{"text":"wren","value":""}' } }
    await new SettingsFile(folder.path).set(left)
    expect(await new SettingsFile(folder.path).get()).toEqual({ settings: left })
    expect(settingsSchema.safeParse({ ...mine, fleet: { part: 'x'.repeat(2001) } }).success).toBe(false)
    const many = Object.fromEntries(Array.from({ length: 101 }, (_, i) => [`k${i}`, '']))
    expect(settingsSchema.safeParse({ ...mine, fleet: many }).success).toBe(false)
  })

  it.each(['{"theme": "pink"}', '{"theme"', '[]', 'null', '\u0000', '{"rehearse": {"a": 1}}'])(
    'that are damaged (%j) give the defaults, and are kept aside',
    async text => {
      await fs.writeFile(at('settings.json'), text)
      const file = new SettingsFile(folder.path)
      const read = await file.get()
      expect(read.settings).toEqual(defaults)
      expect(read.problem?.code).toBe('settings.damaged')
      const names = await fs.readdir(folder.path)
      expect(names).toHaveLength(1)
      expect(names[0]).toMatch(/^settings\.damaged-[0-9a-f]{12}\.json$/)
      expect(read.problem?.message).toContain(names[0])
      expect(await fs.readFile(at(names[0]), 'utf8')).toBe(text)
      expect(await file.get()).toEqual({ settings: defaults })
    },
  )

  it('survive a failure between writing and renaming', async () => {
    await new SettingsFile(folder.path).set(mine)
    const rename = () => Promise.reject(new Error('no'))
    const file = new SettingsFile(folder.path, { steps: { ...fs, rename } })
    await expect(file.set(defaults)).rejects.toMatchObject({ problem: { code: 'settings.not-saved' } })
    expect(await file.get()).toEqual({ settings: mine })
    expect(await fs.readdir(folder.path)).toEqual(['settings.json'])
  })

  it('set twice at once end as the later one', async () => {
    const file = new SettingsFile(folder.path)
    await Promise.all([file.set(defaults), file.set(mine)])
    expect(await file.get()).toEqual({ settings: mine })
  })
})
