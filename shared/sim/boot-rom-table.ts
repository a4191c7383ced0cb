import type { ReceiverType } from '../model/catalogue.ts'
import { addressMapOf } from './address-map.ts'
import { BootRomDevice } from './boot-rom.ts'
import { type BootRomChip, chipFor } from './boot-rom-commands.ts'
import type { ReceiverMemory } from './memory.ts'
import type { Workbench, WorkbenchWorld } from './workbench.ts'

/** What may be otherwise on this table than on a calm one. */
export interface BootRomTable extends Partial<WorkbenchWorld> {
  readonly chip?: BootRomChip
  readonly bootPinHeld?: boolean
  readonly octetTimeoutMs?: number
}

export const BOOT_ROM_LINE = { label: "The controller's own serial pins", parity: 'even' } as const
/** The purpose of its dice. */
export const BOOT_ROM_DICE = 'boot-rom'

/** Puts a receiver's chip on the workbench, with its boot pin held unless the table says otherwise. */
export function putBootRom(
  bench: Workbench,
  type: ReceiverType,
  memory: ReceiverMemory,
  table: BootRomTable = {},
): BootRomDevice {
  const { kernel, trace, line, rail, flasher } = bench
  const map = addressMapOf(type, memory)
  const chip = table.chip ?? chipFor(map.pages, type.flash.wordBytes)
  const { bootPinHeld = true, octetTimeoutMs } = table
  const parts = { kernel, trace, line, rail, flasher, type, memory, map, chip, bootPinHeld, octetTimeoutMs }
  const device = new BootRomDevice(parts)
  rail.connect(device)
  return device
}
