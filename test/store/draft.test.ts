import { existsSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { Draft } from '../../main/store/draft.ts'
import { demoBench } from '../../shared/demo/bench.ts'
import { testFolder } from '../support/folder.ts'

let folder: ReturnType<typeof testFolder>
beforeEach(() => {
  folder = testFolder('draft')
})
afterEach(() => folder.remove())

const file = { fileName: 'Club.preflash.json', revision: 'a'.repeat(64) }

describe('the draft of a bench', () => {
  it('comes back as it was kept, to another process too', async () => {
    await new Draft(folder.path).set({ bench: demoBench(), file })
    expect(await new Draft(folder.path).get()).toEqual({ bench: demoBench(), file })
  })

  it('is gone once there is nothing unsaved', async () => {
    const draft = new Draft(folder.path)
    await draft.set({ bench: demoBench(), file: null })
    await draft.set(null)
    expect(await draft.get()).toBeNull()
    expect(existsSync(join(folder.path, 'draft.json'))).toBe(false)
    await draft.set(null)
  })

  it('is none where there is none, and none where the file is damaged', async () => {
    const draft = new Draft(folder.path)
    expect(await draft.get()).toBeNull()
    const bench = demoBench()
    const parts = { ...bench, radios: [], modules: [] }
    for (const text of ['{"bench":', '[]', JSON.stringify({ bench: parts, file: null })]) {
      writeFileSync(join(folder.path, 'draft.json'), text)
      expect(await draft.get()).toBeNull()
    }
  })

  it('keeps the last of many that are set at once', async () => {
    const draft = new Draft(folder.path)
    const named = (name: string) => ({ bench: { ...demoBench(), name }, file: null })
    await Promise.all(Array.from({ length: 20 }, (_, i) => draft.set(named(`Bench ${i}`))))
    expect((await draft.get())?.bench.name).toBe('Bench 19')
  })
})
