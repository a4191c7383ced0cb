import { cpus } from 'node:os'
import { benchCommand } from './command.ts'
import { benchDiagnosis } from './diagnosis.ts'
import { benchFirstRehearsal } from './first-rehearsal.ts'
import { benchFrames } from './frames.ts'
import { benchHiddenFaults } from './hidden-faults.ts'
import { benchMutations } from './mutations.ts'
import { benchRanking } from './ranking.ts'
import { benchRehearsal } from './rehearsal.ts'
import { benchSerial } from './serial.ts'
import { benchStart } from './start.ts'
import { type Measured, printTable } from './table.ts'
import { benchWriteLanes } from './write-lanes.ts'

const PARTS = {
  rehearsal: benchRehearsal,
  'first-rehearsal': benchFirstRehearsal,
  frames: benchFrames,
  ranking: benchRanking,
  start: benchStart,
  serial: benchSerial,
  command: benchCommand,
  lanes: benchWriteLanes,
  mutations: benchMutations,
  diagnosis: benchDiagnosis,
  'hidden-faults': benchHiddenFaults,
}

/**
 * `npm run bench`: measures, prints, judges nothing by exit code; the numbers go into the notes. Parts that are named
 * (`npm run bench -- serial lanes`) are measured alone.
 */
const named = process.argv.slice(2)
const unknown = named.filter(name => !(name in PARTS))
if (unknown.length > 0)
  throw new Error(`There is no part ${unknown.join(', ')}; there are ${Object.keys(PARTS).join(', ')}.`)
console.log(`${cpus()[0]?.model ?? 'unknown processor'}, ${cpus().length} cores, Node ${process.version}\n`)
const rows: Measured[] = []
for (const [name, measure] of Object.entries(PARTS))
  if (named.length === 0 || named.includes(name)) rows.push(...(await measure()))
printTable(rows)
