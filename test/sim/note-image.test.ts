import { expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { benchImage } from '../../shared/rehearse/image.ts'
import { blankMemory, startable } from '../../shared/sim/memory.ts'
import { recordOfHeld } from '../../shared/sim/note-image.ts'

const bench = demoBench()
const type = bench.catalogue.receiverTypes.find(t => t.id === 'aldwick-plover-10')!

function noted(payload: Uint8Array, toldOctets?: number) {
  const memory = blankMemory(type)
  memory.program.octets.set(payload)
  const { page, octets } = recordOfHeld(memory, type, toldOctets)
  memory.record.octets.set(octets, page * memory.record.pageBytes)
  return startable(memory)
}

it('notes what the image says of itself', () => {
  const image = benchImage(bench, type, 'plover-10-2.3.0')
  if (!image.ok) throw new Error(image.problems[0].message)
  expect(noted(image.value.payload)).toMatchObject({
    length: image.value.payload.length,
    version: { major: 2, minor: 3, patch: 0 },
  })
})

it('of one that says nothing, notes the length that was told, or else all that is not erased', () => {
  const dumb = Uint8Array.of(1, 2, 3, 4, 0xff)
  expect(noted(dumb, 5)).toMatchObject({ length: 5, version: { major: 0, minor: 0, patch: 0 } })
  expect(noted(dumb)).toMatchObject({ length: 4 })
})
