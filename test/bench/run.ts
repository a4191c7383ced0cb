import { cpus } from 'node:os'
import { benchDiagnosis } from './diagnosis.ts'
import { benchFrames } from './frames.ts'
import { benchHiddenFaults } from './hidden-faults.ts'
import { benchMutations } from './mutations.ts'
import { benchRanking } from './ranking.ts'
import { benchRehearsal } from './rehearsal.ts'
import { benchSerial } from './serial.ts'
import { benchStart } from './start.ts'
import { printTable } from './table.ts'
import { benchWriteLanes } from './write-lanes.ts'

/** `npm run bench`: measures, prints, judges nothing by exit code; the numbers go into the notes. */
console.log(`${cpus()[0]?.model ?? 'unknown processor'}, ${cpus().length} cores, Node ${process.version}\n`)
printTable([
  ...benchRehearsal(),
  ...benchFrames(),
  ...benchRanking(),
  ...(await benchStart()),
  ...(await benchSerial()),
  ...(await benchWriteLanes()),
  ...benchMutations(),
  ...benchDiagnosis(),
  ...benchHiddenFaults(),
])
