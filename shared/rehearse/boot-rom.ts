import type { ReceiverType } from '../model/catalogue.ts'
import { ProblemError } from '../model/problem.ts'
import {
  type BootRomPlan,
  type BootRomResult,
  bootRomTiming,
  writeThroughBootRom,
} from '../procedure/boot-rom.ts'
import { addressMapOf, placeOf } from '../sim/address-map.ts'
import { BOOT_ROM_DICE, BOOT_ROM_LINE, type BootRomTable, putBootRom } from '../sim/boot-rom-table.ts'
import { VirtualCard } from '../sim/card.ts'
import { bootLoaderImage, type ReceiverMemory } from '../sim/memory.ts'
import { PortBuffer } from '../sim/port.ts'
import { VirtualRunner } from '../sim/runner.ts'
import type { Trace } from '../sim/trace.ts'
import { layWorkbench } from '../sim/workbench.ts'

/** The highest rate that AN3155 states. */
const BAUD = 115_200
/** The boot loader that a receiver is shipped with; a conversion may have brought another. */
const SHIPPED_BOOT_LOADER = 1

export interface BootRomRehearsal {
  readonly result: BootRomResult
  readonly simulatedMs: number
  readonly trace: Trace
  readonly effects: number
  readonly flashOperations: number
}

/** How a receiver's shipped boot loader is written back; everything else in its flash is left alone. */
export function bootLoaderPlan(type: ReceiverType, memory: ReceiverMemory): BootRomPlan {
  const place = placeOf(addressMapOf(type, memory), memory.boot)
  if (place === undefined) throw new Error('the address map has no boot loader')
  return {
    baud: BAUD,
    address: place.address,
    octets: bootLoaderImage(SHIPPED_BOOT_LOADER, memory.boot.octets.length),
    pages: Array.from({ length: place.pages }, (_, i) => place.firstPage + i),
    startAt: place.address,
    chipId: undefined,
    writeMultiple: Math.max(4, type.flash.wordBytes),
    timing: bootRomTiming(BAUD, type.flash, 0),
    connectTries: 10,
    tries: 4,
    attempts: 3,
  }
}

/**
 * Writes the boot loader back through the loader in the chip's ROM, in the simulation, on the memory that a session
 * left. Changes `memory` as the simulated chip does.
 * @returns how it ended and how long it took; the caller looks at the memory for what became of it
 */
export function rewriteThroughBootRom(
  memory: ReceiverMemory,
  type: ReceiverType,
  seed: number,
  table: BootRomTable = {},
): BootRomRehearsal {
  const { kernel, trace, rail, flasher, runner } = layTable(memory, type, seed, table)
  rail.energise(0)
  const result = runner.run(writeThroughBootRom(bootLoaderPlan(type, memory)))
  if (result === undefined) throw new ProblemError({ code: 'sim.no-result', message: 'Nobody ran it.' })
  trace.closePhase(kernel.nowNs, result.ended === 'done' ? 'done' : 'failed')
  return {
    result,
    simulatedMs: kernel.nowNs / 1e6,
    trace: trace.done(kernel.nowNs),
    effects: runner.effects,
    flashOperations: flasher.operations,
  }
}

/** Whoever runs the procedure sits behind a USB serial adapter: nobody may refuse the line, and there is no card. */
function layTable(memory: ReceiverMemory, type: ReceiverType, seed: number, table: BootRomTable) {
  const port = new PortBuffer()
  const laid = layWorkbench({
    type,
    seed,
    line: { ...BOOT_ROM_LINE, baud: BAUD },
    world: table,
    purpose: BOOT_ROM_DICE,
    host: { name: 'adapter', listener: port },
    onCut: rail => rail.cut('the supply was cut'),
  })
  putBootRom(laid, type, memory, table)
  const { kernel, trace, line, party, rail, flasher } = laid
  const nothing = () => {}
  const runner = new VirtualRunner({
    kernel,
    trace,
    line,
    party,
    port,
    card: new VirtualCard(undefined, trace),
    mayOpen: () => undefined,
    beforeEffect: index => {
      if (table.cut?.at === 'effect' && table.cut.index === index) rail.cut('the supply was cut')
    },
    onOpen: nothing,
    onStaged: nothing,
  })
  return { kernel, trace, rail, flasher, runner }
}
