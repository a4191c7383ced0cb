import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { addressMapOf, pageAt, placeOf, spansAt } from '../../shared/sim/address-map.ts'
import { blankMemory } from '../../shared/sim/memory.ts'

const [any] = demoBench().catalogue.receiverTypes

describe('addressMapOf', () => {
  it('places program at its address and the rest around it, whatever the address is', () => {
    const address = fc.oneof(
      fc.integer({ min: 0, max: 2 ** 32 - 2 ** 16 }),
      fc.constantFrom(0, 2 ** 32 - 2 ** 16),
    )
    fc.assert(
      fc.property(address, programAddress => {
        const type = { ...any, flash: { ...any.flash, programAddress, programBytes: 2 ** 16 } }
        const memory = blankMemory(type)
        const map = addressMapOf(type, memory)
        expect(placeOf(map, memory.program)?.address).toBe(programAddress)
        expect(map.address).toBeGreaterThanOrEqual(0)
        expect(map.address + map.bytes).toBeLessThanOrEqual(2 ** 32)
        // Every page is one region's, in order of address, without a gap.
        let at = map.address
        for (let page = 0; page < map.pages; page++) {
          const there = pageAt(map, page)
          expect(spansAt(map, at, map.pageBytes)).toEqual([
            { region: there?.region, offset: (there?.page ?? 0) * map.pageBytes, bytes: map.pageBytes },
          ])
          at += map.pageBytes
        }
        expect(at).toBe(map.address + map.bytes)
        expect(pageAt(map, map.pages)).toBeUndefined()
        expect(spansAt(map, at - 1, 2)).toBeUndefined()
        expect(spansAt(map, map.address - 1, 2)).toBeUndefined()
      }),
      { numRuns: 40 },
    )
  })

  it('has the boot loader of the demo types from ST at the start of flash', () => {
    for (const type of demoBench().catalogue.receiverTypes) {
      if (type.flash.programAddress === 0) continue
      const memory = blankMemory(type)
      // Where ST's controllers have it: the address of the published exchanges of AN3155.
      expect(placeOf(addressMapOf(type, memory), memory.boot)).toMatchObject({
        address: 0x0800_0000,
        firstPage: 0,
      })
    }
  })
})
