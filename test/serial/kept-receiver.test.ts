import { writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { expect, it } from 'vitest'
import { Keeper, loadKept } from '../../main/serial/kept-receiver.ts'
import { blankMemory } from '../../shared/sim/memory.ts'
import { testFolder } from '../support/folder.ts'
import { smallBench } from '../support/small-bench.ts'

it('reads what is a file, finds nothing where there is none, and does not begin to read what has no end', async () => {
  const folder = testFolder('kept')
  try {
    const file = join(folder.path, 'kept.json')
    expect(await loadKept(file)).toBeUndefined()
    writeFileSync(file, '{}')
    expect(await loadKept(file)).toEqual({ text: '{}', file })
    for (const none of ['/dev/full', '/dev/zero', folder.path])
      await expect(loadKept(none)).rejects.toThrow('This is no file in which the flash')
    await expect(loadKept(join(file, 'below'))).rejects.toThrow(
      'cannot be read: part of the way to it is a file, not a folder.',
    )
  } finally {
    folder.remove()
  }
})

it('says in words why what a receiver holds could not be kept', async () => {
  const folder = testFolder('kept')
  try {
    const [type] = smallBench().catalogue.receiverTypes
    const keeper = new Keeper(join(folder.path, 'none', 'kept.json'), type.id, blankMemory(type))
    await expect(keeper.done()).rejects.toThrow('could not be kept: its folder is not there.')
  } finally {
    folder.remove()
  }
})
