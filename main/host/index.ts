import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { ProblemError, sayProblem } from '../../shared/model/problem.ts'
import { readStartOptions, surroundings } from './options.ts'
import { runHost } from './run.ts'

// Built, this file lies in out/main beside out/renderer.
const root = join(dirname(fileURLToPath(import.meta.url)), '..', 'renderer')

try {
  const options = readStartOptions(process.argv.slice(2), surroundings())
  await runHost(options, root, line => console.log(line))
} catch (error) {
  if (!(error instanceof ProblemError)) throw error
  console.error(sayProblem(error.problem))
  process.exitCode = 2
}
