import { expect, it } from 'vitest'
import { addUnmarked } from '../../../renderer/firmware/unmarked.ts'
import { demoBench } from '../../../shared/demo/bench.ts'
import { checkBench } from '../../../shared/model/bench.ts'

it('adds receivers of which nothing is known, each under a name and an id of its own', () => {
  const one = addUnmarked(demoBench())
  const two = addUnmarked(one.bench)
  expect(checkBench(two.bench).ok).toBe(true)
  expect([one.id, two.id]).toEqual(['receiver-without-markings', 'receiver-without-markings-2'])
  expect(two.bench.receivers.at(-1)).toMatchObject({
    nickname: 'Receiver without markings 2',
    typeId: 'unknown',
    firmware: 'unknown',
  })
  expect(one.label).toBe('Add Receiver without markings')
})
