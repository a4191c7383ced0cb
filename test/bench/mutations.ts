import { execFileSync } from 'node:child_process'
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { pathToFileURL } from 'node:url'
import { projectRoot } from '../../main/scripts/build.mjs'
import { chanceOf, mutate, originals, tryMutants } from '../support/mutants.ts'
import { FILE_BYTES, largeFiles, type MemoryReport } from './mutations-memory.ts'
import { type Measured, printTable } from './table.ts'

const MUTANTS = 100_000
const MUTANTS_OF_A_LARGE_FILE = 20
const SEED = 20261125
const MOST_MIB = 64

/**
 * 100,000 files damaged at random through the readers, and files of 4 MiB with memory watched. A reader that throws,
 * or owes a place or a reason, ends the run with the seed and the number of the file.
 */
export function benchMutations(): Measured[] {
  const files = originals()
  const started = performance.now()
  const { images, errors, asRaw, slowestMs } = tryMutants(files, files, MUTANTS, SEED)
  const seconds = (performance.now() - started) / 1000
  const number = (n: number) => n.toLocaleString('en')
  const rows: Measured[] = [
    {
      what: `${number(MUTANTS)} damaged files read in ${seconds.toFixed(0)} s, the slowest in ${slowestMs.toFixed(0)} ms`,
      value: `${number(images)} images, ${number(errors)} errors`,
      goal: 'an image or an error with its place, each',
      reached: images + errors === MUTANTS,
    },
    { what: 'of other formats, but taken for raw binary', value: number(asRaw), goal: '', reached: true },
  ]
  if (process.platform !== 'linux') return rows
  const reports = memoryReports()
  const most = reports.reduce((a, b) => (b.peakMib > a.peakMib ? b : a))
  const slowest = reports.reduce((a, b) => (b.slowestMs > a.slowestMs ? b : a))
  return [
    ...rows,
    {
      what: `memory for a file of 4 MiB, ${reports.length} sorts, each read ${MUTANTS_OF_A_LARGE_FILE + 1} times; most for: ${most.name}`,
      value: `${most.peakMib.toFixed(1)} MiB`,
      goal: `under ${MOST_MIB} MiB`,
      reached: most.peakMib < MOST_MIB,
    },
    {
      what: `slowest file of 4 MiB: ${slowest.name}`,
      value: `${slowest.slowestMs.toFixed(0)} ms`,
      goal: '',
      reached: true,
    },
  ]
}

/** One process for each sort of file whose name has `only` in it. */
export function memoryReports(only = ''): MemoryReport[] {
  const folder = mkdtempSync(join(tmpdir(), 'preflash-mutants-'))
  const tsx = join(projectRoot, 'node_modules', 'tsx', 'dist', 'cli.mjs')
  const script = join(projectRoot, 'test', 'bench', 'mutations-memory.ts')
  try {
    return largeFiles()
      .filter(({ name }) => name.includes(only))
      .map(file => {
        const paths = Array.from({ length: MUTANTS_OF_A_LARGE_FILE + 1 }, (_, n) => {
          const path = join(folder, `${n}`)
          const chance = chanceOf(SEED, `${file.name} ${n}`)
          // The first is the file as it is.
          writeFileSync(
            path,
            n === 0 ? file.octets : mutate(file.octets, [file], chance).subarray(0, FILE_BYTES),
          )
          return path
        })
        const args = [tsx, script, file.name, file.kind, ...paths]
        return JSON.parse(execFileSync(process.execPath, args, { encoding: 'utf8' }))
      })
  } finally {
    rmSync(folder, { recursive: true, force: true })
  }
}

if (import.meta.url === pathToFileURL(process.argv[1]).href) {
  if (process.argv[2] === '--memory')
    for (const report of memoryReports(process.argv[3])) console.log(JSON.stringify(report))
  else printTable(benchMutations())
}
