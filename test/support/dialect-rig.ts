import type { DialectPlan } from '../../shared/dialect/plan.ts'
import type { Dialect } from '../../shared/dialect/schema.ts'
import type { Procedure, SessionEvent } from '../../shared/procedure/effects.ts'
import { VirtualCard } from '../../shared/sim/card.ts'
import { PortBuffer } from '../../shared/sim/port.ts'
import { VirtualRunner } from '../../shared/sim/runner.ts'
import { type ChipOnTable, chipOnTable } from './boot-rom-rig.ts'

export const planOf = (
  dialect: Dialect,
  octets: Uint8Array,
  change: Partial<DialectPlan> = {},
): DialectPlan => ({
  dialect,
  baud: dialect.line.baud[0],
  image: { octets, address: 0x0800_2000, fileName: 'image.bin' },
  pages: [],
  expectBefore: {},
  expectAfter: {},
  ...change,
})

/** An image that is not all alike, and no two blocks of it are. */
export const imageOf = (bytes: number, salt = 0): Uint8Array =>
  Uint8Array.from({ length: bytes }, (_, i) => (i * 31 + (i >> 8) * 7 + salt) & 0xff)

/** The virtual chip of `shared/sim/boot-rom.ts`, which knows nothing of dialects, with a runner at its line. */
export function chipWithRunner(options: ChipOnTable = {}) {
  const table = chipOnTable(options)
  const { kernel, line, trace } = table
  const port = new PortBuffer()
  const nothing = () => {}
  const runner = new VirtualRunner({
    ...{ kernel, trace, line, port },
    party: line.attach('adapter', 'radio', port),
    card: new VirtualCard(undefined, trace),
    mayOpen: () => undefined,
    beforeEffect: nothing,
    onOpen: nothing,
    onStaged: nothing,
  })
  const run = <R>(procedure: Procedure<R>): R => {
    const result = runner.run(procedure)
    if (result === undefined) throw new Error('nobody ran it')
    return result
  }
  return {
    ...table,
    run,
    settle: table.run,
    events: (): SessionEvent[] => trace.done(kernel.nowNs).events.map(e => e.event),
  }
}
