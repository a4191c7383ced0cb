import { describe, expect, it } from 'vitest'
import { standOf } from '../../../../renderer/bench/program/stand.ts'
import { checkChosen } from '../../../../renderer/bench/wiring/use-wiring.ts'
import { demoBench } from '../../../../shared/demo/bench.ts'

const wiring = { adapterId: 'bench-programmer', cableId: 'programmer-cable', feed: 'through-cable' } as const
const twoWires = { inverted: false, duplex: 'full' } as const

describe('what of the wiring is another step’s', () => {
  it('is the dialect, where it speaks over two wires and the receiver has one', () => {
    const wrong = standOf(checkChosen(demoBench(), 'wren-trainer', wiring, twoWires))
    expect(wrong.wrongWay).toMatch(/Choose one that speaks over one wire/)
    expect(wrong.isElseSafe).toBe(true)
    const right = standOf(checkChosen(demoBench(), 'wren-trainer', wiring))
    expect(right.wrongWay).toBeUndefined()
    expect(right.isElseSafe).toBe(true)
  })

  it('does not hide a danger behind a wrong dialect', () => {
    const cableId = 'programmer-cable-swapped'
    const bench = demoBench()
    expect(bench.cables.map(c => c.id)).toContain(cableId)
    expect(standOf(checkChosen(bench, 'wren-trainer', { ...wiring, cableId }, twoWires)).isElseSafe).toBe(
      false,
    )
  })

  it('leaves servos and plugs without a key to hands and eyes', () => {
    const { lookOut } = standOf(checkChosen(demoBench(), 'wren-trainer', wiring))
    expect(lookOut.join(' ')).toMatch(/Unplug the 4 servos/)
    expect(lookOut.join(' ')).toMatch(/hold pin 1 to pin 1/)
    expect(standOf(undefined)).toEqual({ wrongWay: undefined, isElseSafe: true, lookOut: [] })
  })
})
