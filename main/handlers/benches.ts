import type { AppContract } from '../../shared/api/contract.ts'
import type { Handlers } from '../../shared/api/define.ts'
import { BenchFiles, benchFromText } from '../store/bench-files.ts'

export type BenchHandlers = Pick<
  Handlers<AppContract>,
  'bench.list' | 'bench.open' | 'bench.check' | 'bench.save'
>

/** `bench.…`: the bench files of the data folder, and the one named on the command line. */
export function benchHandlers(env: {
  readonly dataFolder: string
  readonly benchFile?: string
}): BenchHandlers {
  const { dataFolder, benchFile } = env
  const files = new BenchFiles({ dataFolder, commandLineFile: benchFile })
  return {
    'bench.list': async () => ({
      files: await files.list(),
      ...(benchFile === undefined ? {} : { commandLineFile: benchFile }),
    }),
    'bench.open': ({ fileName }) => files.open(fileName),
    'bench.check': ({ fileName, text }) => ({ bench: benchFromText(text, fileName) }),
    'bench.save': request => files.save(request),
  }
}
