import type { DialectListed } from '../api/dialects.ts'
import { builtInDialects, demoDialects } from '../dialect/built-in/all.ts'
import { BUS_DIALECT } from '../dialect/bus-write.ts'
import { type Dialect, writeDialect } from '../dialect/schema.ts'
import type { Line } from '../wiring/setup.ts'

/** A way of writing that was chosen: the Preflash bus, which is code, or a dialect, which is data. */
export type Chosen =
  | { readonly kind: 'bus'; readonly name: string; readonly title: string; readonly text: string }
  | {
      readonly kind: 'data'
      readonly name: string
      readonly title: string
      readonly dialect: Dialect
      /** As a file; part of the key of a plan. */
      readonly text: string
    }

const bus: Chosen = { kind: 'bus', name: BUS_DIALECT, title: 'Preflash bus', text: BUS_DIALECT }

export const chosenData = (dialect: Dialect): Extract<Chosen, { kind: 'data' }> => ({
  kind: 'data',
  name: dialect.name,
  title: dialect.title,
  dialect,
  text: writeDialect(dialect),
})

/** The line as a dialect has it, for the wiring; undefined where the type of the receiver says it. */
export const lineOfChosen = (chosen: Chosen): Line | undefined =>
  chosen.kind === 'bus'
    ? undefined
    : {
        inverted: chosen.dialect.line.polarity === 'inverted',
        duplex: chosen.dialect.line.duplex === 'full' ? 'full' : 'half',
        ...(chosen.dialect.line.controls && { controls: chosen.dialect.line.controls }),
      }

/** The Preflash bus, a published protocol, or one of the demo's; undefined where none is called so. */
export function builtInChosen(name: string): Chosen | undefined {
  if (name === BUS_DIALECT) return bus
  const dialect = builtInDialects().get(name) ?? demoDialects().get(name)
  return dialect && chosenData(dialect)
}

/** Those that need no file, in the order in which they are listed. */
export const builtInList = (): DialectListed[] => [
  listedBus,
  ...[...builtInDialects().values()].map(d => listed(d, 'built-in')),
  ...[...demoDialects().values()].map(d => listed(d, 'demo')),
]

const listedBus: DialectListed = {
  name: bus.name,
  title: bus.title,
  from: 'built-in',
  source: { text: 'Preflash, DEVELOPERS: the telemetry bus of the bench', date: '2026' },
  notes: 'The update that the radio does, done by the programmer: over the one signal wire of the receiver.',
  baud: [],
  oneWire: true,
  inverted: null,
  controls: null,
  can: { identify: true, backup: false, verify: 'digest', start: true, prove: true },
  identity: [
    { name: 'type', label: 'Type', role: 'type' },
    { name: 'version', label: 'Firmware', role: 'version' },
  ],
}

export function listed(dialect: Dialect, from: DialectListed['from']): DialectListed {
  const { identify, digest, read, start, line } = dialect
  return {
    name: dialect.name,
    title: dialect.title,
    from,
    source: dialect.source,
    notes: dialect.notes ?? null,
    baud: [...line.baud],
    oneWire: line.duplex === 'half-echo',
    inverted: line.polarity === 'inverted',
    controls: line.controls ?? null,
    can: {
      identify: identify !== undefined,
      backup: read !== undefined,
      verify: digest ? 'digest' : read ? 'read-back' : 'none',
      start: start !== undefined,
      prove: identify?.whenRunning === true && identify.fields.some(f => f.role === 'version'),
    },
    identity: (identify?.fields ?? []).map(({ name, label, role }) => ({ name, label, role })),
  }
}
