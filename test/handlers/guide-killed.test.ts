import { spawn } from 'node:child_process'
import { once } from 'node:events'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { createHandlers } from '../../main/handlers/index.ts'
import { projectRoot } from '../../main/scripts/build.mjs'
import { contract } from '../../shared/api/contract.ts'
import { guideMethods, type OpenRun } from '../../shared/api/guide.ts'
import { makeEvents, serveContract } from '../../shared/api/serve.ts'
import { runbookState } from '../../shared/runbook/state.ts'
import { Run } from '../runbook/fixture.ts'
import { emptyFolder } from '../support/journal.ts'

/** Kills a program that holds a guided run once it has said so many answers are kept. */
async function killedAfter(folder: string, answers: number): Promise<{ id: string; kept: number }> {
  const tsx = join(projectRoot, 'node_modules', 'tsx', 'dist', 'loader.mjs')
  const script = join(projectRoot, 'test', 'support', 'guide-child.ts')
  const child = spawn(process.execPath, ['--import', tsx, script, folder], {
    cwd: projectRoot,
    stdio: ['ignore', 'pipe', 'inherit'],
  })
  let text = ''
  child.stdout.setEncoding('utf8').on('data', (part: string) => {
    text += part
    if (text.includes(`answer ${answers} `)) child.kill('SIGKILL')
  })
  const [, signal] = await once(child, 'close')
  expect(signal).toBe('SIGKILL')
  const id = /session (\S+)\n/.exec(text)?.[1] ?? ''
  return { id, kept: [...text.matchAll(/answer \d+ \S+\n/g)].length }
}

async function leftIn(folder: string): Promise<OpenRun | null> {
  const env = { hostKind: 'browser', dataFolder: folder, events: makeEvents(contract) } as const
  const serve = serveContract(contract, createHandlers(env), error => expect.fail(String(error)))
  const outcome = await serve('guide.open', {})
  if (!outcome.ok) throw new Error(outcome.problems.map(p => p.code).join())
  return guideMethods['guide.open'].reply.parse(outcome.reply).run
}

describe('a program that is killed in the middle of a guided run', () => {
  it.each([1, 8, 33])(
    'has lost none of its answers after %d, and the run is at the same step',
    {
      timeout: 120_000,
    },
    async answers => {
      const folder = emptyFolder()
      const { id, kept } = await killedAfter(folder, answers)
      expect(kept).toBeGreaterThanOrEqual(answers)
      const left = await leftIn(folder)
      if (left === null) throw new Error('no run is offered')
      expect(left.id).toBe(id)
      // The one that was under way may be there too, for it was written down and not replied to yet.
      expect(left.answers.length - kept).toBeOneOf([0, 1])
      const same = new Run(left.runbook)
      while (same.answers.length < left.answers.length)
        same.say(same.state.step.id === 'version' ? 'back' : 'saw')
      expect(left.answers.map(a => `${a.step} ${a.said}`)).toEqual(
        same.answers.map(a => `${a.step} ${a.said}`),
      )
      const state = runbookState(left.runbook, left.beganAtMs, left.answers)
      expect(state.step.id).toBe(same.state.step.id)
      expect(state.at).toBe('step')
    },
  )
})
