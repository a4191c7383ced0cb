import { describe, expect, it } from 'vitest'
import { BOOT_ROM_DICE, BOOT_ROM_LINE, putBootRom } from '../../shared/sim/boot-rom-table.ts'
import { blankMemory } from '../../shared/sim/memory.ts'
import { layWorkbench, workbenchSupply } from '../../shared/sim/workbench.ts'
import { stType } from '../support/boot-rom-rig.ts'
import { Later } from '../support/line-rig.ts'

const type = stType()
const lay = (bootPinHeld: boolean) => {
  const heard: number[] = []
  const laid = layWorkbench({
    type,
    seed: 1,
    line: { ...BOOT_ROM_LINE, baud: 115_200 },
    world: {},
    purpose: BOOT_ROM_DICE,
    host: {
      name: 'adapter',
      listener: { hear: (octets, from, to) => heard.push(...octets.subarray(from, to)) },
    },
    onCut: () => {},
  })
  putBootRom(laid, type, blankMemory(type), { bootPinHeld })
  laid.rail.energise(0)
  const later = new Later(laid.kernel)
  later.at(10e6, () => laid.line.sendOctets(laid.party, Uint8Array.of(0x7f)))
  laid.kernel.runTo(50e6)
  return heard
}

describe("a receiver's chip on the workbench", () => {
  it('is fed between the limits on its label', () => {
    const { openVolts } = workbenchSupply(type)
    expect(openVolts).toBeGreaterThan(type.supply.leastVolts)
    expect(openVolts).toBeLessThan(type.supply.mostVolts)
  })

  // ST AN3155, section 2: 7F is answered with ACK, 79.
  it('answers the first octet with its boot pin held, and not without', () => {
    expect(lay(true)).toEqual([0x79])
    expect(lay(false)).toEqual([])
  })
})
