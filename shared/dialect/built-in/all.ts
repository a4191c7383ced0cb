import { type Dialect, type DialectInput, dialectSchema } from '../schema.ts'
import { stAn3155 } from './st-an3155.ts'
import { tamsinDart, tamsinTwig } from './tamsin.ts'
import { xmodem1k, xmodemCrc, ymodem } from './xmodem.ts'

/** The dialects that come with the workbench, said in the same data as everybody's. */

const inputs: readonly DialectInput[] = [stAn3155, xmodemCrc, xmodem1k, ymodem]
const demos: readonly DialectInput[] = [tamsinDart, tamsinTwig]
let ready: ReadonlyMap<string, Dialect> | undefined
let readyDemos: ReadonlyMap<string, Dialect> | undefined

const made = (of: readonly DialectInput[]): ReadonlyMap<string, Dialect> =>
  new Map(of.map(input => [input.name, dialectSchema.parse(input)]))

/** Published protocols, by name, in the order in which they are listed. */
export function builtInDialects(): ReadonlyMap<string, Dialect> {
  ready ??= made(inputs)
  return ready
}

/** Loaders of the invented maker Tamsin, as the demo's dialect files. */
export function demoDialects(): ReadonlyMap<string, Dialect> {
  readyDemos ??= made(demos)
  return readyDemos
}

/** Names of all dialects that can be chosen without a file; the Preflash bus is code, not data. */
export const BUILT_IN_NAMES = ['preflash-bus', ...inputs.map(({ name }) => name)] as const
