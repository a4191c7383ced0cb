import { describe, expect, it } from 'vitest'
import { drawnWires } from '../../../../renderer/rehearse/diagram/wires.ts'
import { rehearse } from '../../../../shared/rehearse/rehearse.ts'
import type { FaultName } from '../../../../shared/sim/faults.ts'
import type { CableWire } from '../../../../shared/sim/trace.ts'
import { smallRequest } from '../../../support/small-bench.ts'

const [signal, positive, negative] = (['signal', 'positive', 'negative'] as const).map(
  (role): CableWire => ({ from: role, to: role }),
)
const openIn = (wires: readonly CableWire[], isFed = true) =>
  drawnWires(wires, isFed).flatMap(w => (w.isOpen ? [w.pin.name] : []))
const brokenIn = (wires: readonly CableWire[], isFed = true) =>
  drawnWires(wires, isFed).flatMap(w => (w.paths.length > 1 ? [w.pin.name] : []))

/** What the cable joins at the beginning of a session, and at its end. */
function wiresWith(name: FaultName, value?: string) {
  const done = rehearse(smallRequest({ faults: [{ name, ...(value === undefined ? {} : { value }) }] }))
  if (!done.ok) throw new Error(done.problems[0].message)
  const cable = done.value.trace.devices.filter(d => d.device === 'cable')
  return { first: cable[0].wires!, last: cable.at(-1)!.wires! }
}

describe('the wires of the update cable', () => {
  it('are drawn broken where they are, and nowhere else', () => {
    expect(brokenIn([signal, positive, negative])).toEqual([])
    expect(brokenIn([positive, negative])).toEqual(['S'])
    expect(openIn([signal, positive])).toEqual(['−'])
    expect(openIn([signal, negative])).toEqual(['+'])
  })

  it('miss no positive wire where the receiver has a supply of its own', () => {
    expect(openIn([signal, negative], false)).toEqual([])
    expect(brokenIn([signal, negative], false)).toEqual(['+'])
  })

  it('cross where the cable crosses them', () => {
    const { first } = wiresWith('reversed-cable')
    expect(brokenIn(first)).toEqual([])
    expect(drawnWires(first, true).map(w => w.paths[0])).toEqual([
      'M0 12H120',
      'M0 30H40L80 48H120',
      'M0 48H40L80 30H120',
    ])
  })

  it('follow from what acts in a rehearsal', () => {
    expect(openIn(wiresWith('signal-wire-open').first)).toEqual(['S'])
    const off = wiresWith('near-end-open').first
    expect(openIn(off)).toEqual([])
    expect(drawnWires(off, true).map(w => w.isOff)).toEqual([true, false, false])
    // Whole from where it ends, short of its pin, to the receiver.
    expect(drawnWires(off, true)[0].paths).toEqual(['M18 7V17', 'M18 12H120'])
    expect(openIn(wiresWith('near-end-deaf').first)).toEqual([])
    const loose = wiresWith('cable-loose', '1')
    expect(brokenIn(loose.first)).toEqual([])
    expect(brokenIn(loose.last)).toEqual(['S', '+', '−'])
  })
})
