import { createHandlers } from '../../main/handlers/index.ts'
import { contract } from '../../shared/api/contract.ts'
import type { RequestOf } from '../../shared/api/define.ts'
import { makeEvents, serveContract } from '../../shared/api/serve.ts'
import { Run, runbookOf } from '../runbook/fixture.ts'
import { smallRequest } from './small-bench.ts'

/**
 * A process of its own that holds a guided run, to be killed: `FOLDER`. It does for each answer what the window asks of
 * the program, and says how many there are once the program has replied; at the end it begins with the last step again.
 */
const [folder] = process.argv.slice(2)
const env = { hostKind: 'browser', dataFolder: folder, events: makeEvents(contract) } as const
const serve = serveContract(contract, createHandlers(env), error => console.error(error))

type Guide = 'guide.begin' | 'guide.append'
async function call<M extends Guide>(method: M, request: RequestOf<typeof contract, M>): Promise<unknown> {
  const outcome = await serve(method, request)
  if (!outcome.ok) throw new Error(outcome.problems.map(p => p.message).join())
  return outcome.reply
}

const runbook = runbookOf(smallRequest())
const { id } = (await call('guide.begin', { runbook, benchName: 'Bench' })) as { id: string }
process.stdout.write(`session ${id}\n`)
const run = new Run(runbook)
for (;;) {
  if (run.answers.length >= 1_990) break
  // Back and forth, so that it goes on until it is killed.
  run.say(run.state.step.id === 'version' ? 'back' : 'saw')
  const from = run.answers.length - 1
  await call('guide.append', { id, from, answers: run.answers.slice(from) })
  process.stdout.write(`answer ${run.answers.length} ${run.state.step.id}\n`)
}
