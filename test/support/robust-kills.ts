import { type ChildProcess, spawn } from 'node:child_process'
import { join } from 'node:path'
import { projectRoot } from '../../main/scripts/build.mjs'
import { Emulator } from '../../main/serial/emulator.ts'
import { openPort } from '../../main/serial/open-port.ts'
import { layEmulation } from '../../shared/rehearse/emulate.ts'
import { type Dice, dice } from '../../shared/sim/dice.ts'
import type { startable } from '../../shared/sim/memory.ts'
import { testFolder } from './folder.ts'
import { ptyPair } from './pty.ts'
import { type RobustDesk, robustDesk, untrue } from './robust-sessions.ts'
import { soundAnswers } from './sound-answers.ts'
import { planned, writePlan } from './write-plan.ts'

/** Writing programs that are killed at a random instant, and what must be true after each. */
export interface KillEnd {
  readonly what: string
  /** The state that was told of the receiver; `ended` where the program was through before. */
  readonly state: string
  readonly wrong: readonly string[]
}

/** A write of the small bench takes about this long over an unpaced pair of ports. */
const KILL_WITHIN_MS = 900
const BEGIN_MS = 60_000

export async function killedWrite(seed: number): Promise<KillEnd> {
  const draw: Dice = dice(seed, 'kills')
  const afterMs = draw.between(0, KILL_WITHIN_MS)
  const what = `seed ${seed}: killed ${Math.round(afterMs)} ms after it began`
  const folder = testFolder('kills')
  const pair = await ptyPair()
  const plan = writePlan({ port: pair.a })
  const laid = layEmulation({
    ...{ bench: plan.bench, receiverId: plan.receiverId, dialect: plan.dialect, seed, faults: [] },
    ...{ echo: true, pace: 'unpaced' },
  })
  if (!laid.ok) throw new Error(laid.problems[0].message)
  const { memory } = laid.value
  const emulator = new Emulator({
    port: await openPort({ kind: 'local', path: pair.b }, laid.value.line),
    live: laid.value.live,
  })
  const robust = robustDesk(folder.path)
  try {
    const said = await killAfter(folder.path, pair.a, afterMs)
    if (said.ended) return { what, state: 'ended', wrong: [] }
    return { what, ...(await oneAtATime(() => afterKill(robust, plan, said, memory))) }
  } finally {
    await robust.logbook.close()
    await emulator.stop()
    await pair.end()
    folder.remove()
  }
}

let turn: Promise<unknown> = Promise.resolve()
/**
 * Working out a recovery takes this process a second, and it plays the receivers too: one that is written meanwhile
 * would not answer in time.
 */
function oneAtATime<T>(work: () => Promise<T>): Promise<T> {
  const mine = turn.then(work, work)
  turn = mine.catch(() => {})
  return mine
}

interface Said {
  readonly session: string
  /** The number of the last event that it said was committed. */
  readonly committed: number
  readonly ended: boolean
}

async function afterKill(
  { desk, logbook }: RobustDesk,
  plan: ReturnType<typeof writePlan>,
  said: Said,
  memory: Parameters<typeof startable>[0],
): Promise<Omit<KillEnd, 'what'>> {
  const wrong: string[] = []
  const { events } = await logbook.use(journal => journal.session(said.session))
  if (events.length < said.committed)
    wrong.push(`${said.committed} were committed, ${events.length} are there`)
  const found = (await desk.interrupted()).find(i => i.head.id === said.session)
  if (found === undefined) return { state: 'lost', wrong: [...wrong, 'it is not found as interrupted'] }
  const { state } = found.known
  const asEnd = {
    ...{ outcome: 'failed', state, proof: { verified: 'none', started: false, identified: false } },
  } as Parameters<typeof untrue>[2]
  wrong.push(...untrue(planned(), memory, asEnd))
  const recovery = await desk.recovery(said.session)
  if (!recovery.found?.ok || !recovery.found.value.rehearsed.ok) wrong.push('no recovery is offered')
  if (recovery.plan === null) return { state, wrong: [...wrong, 'there is no plan to recover with'] }
  const again = { ...recovery.plan, port: plan.port }
  await desk.rehearse(again, 1)
  const { ended } = await desk.start(again, soundAnswers(again), said.session)
  const end = await ended
  if (end.outcome !== 'updated') wrong.push(`the recovery ended ${end.outcome}: ${end.text}`)
  wrong.push(...untrue(planned(), memory, end))
  if ((await desk.interrupted()).length > 0) wrong.push('it is still told as interrupted')
  return { state, wrong }
}

function killAfter(folder: string, port: string, afterMs: number): Promise<Said> {
  const tsx = join(projectRoot, 'node_modules', 'tsx', 'dist', 'loader.mjs')
  const child: ChildProcess = spawn(
    process.execPath,
    ['--import', tsx, join(projectRoot, 'test', 'support', 'write-child.ts'), folder, port],
    { cwd: projectRoot, stdio: ['ignore', 'pipe', 'inherit'] },
  )
  let text = ''
  let kill: NodeJS.Timeout | undefined
  const giveUp = setTimeout(() => child.kill('SIGKILL'), BEGIN_MS)
  child.stdout?.setEncoding('utf8').on('data', (part: string) => {
    text += part
    if (kill === undefined && text.includes('session '))
      kill = setTimeout(() => child.kill('SIGKILL'), afterMs)
  })
  return new Promise((resolve, reject) => {
    child.once('error', reject)
    child.once('close', () => {
      clearTimeout(kill)
      clearTimeout(giveUp)
      const session = /session (\S+)\n/.exec(text)?.[1]
      if (session === undefined) return reject(new Error('the child began no session'))
      const committed = [...text.matchAll(/event (\d+)\n/g)].length
      resolve({ session, committed, ended: /end \S+\n/.test(text) })
    })
  })
}
