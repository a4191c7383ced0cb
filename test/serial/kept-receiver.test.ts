import { writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { expect, it } from 'vitest'
import { loadKept } from '../../main/serial/kept-receiver.ts'
import { testFolder } from '../support/folder.ts'

it('reads what is a file, finds nothing where there is none, and does not begin to read what has no end', async () => {
  const folder = testFolder('kept')
  try {
    const file = join(folder.path, 'kept.json')
    expect(await loadKept(file)).toBeUndefined()
    writeFileSync(file, '{}')
    expect(await loadKept(file)).toEqual({ text: '{}', file })
    for (const none of ['/dev/full', '/dev/zero', folder.path])
      await expect(loadKept(none)).rejects.toThrow('This is no file in which the flash')
    await expect(loadKept(join(file, 'below'))).rejects.toThrow('cannot be read (ENOTDIR)')
  } finally {
    folder.remove()
  }
})
