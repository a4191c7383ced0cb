import { rehearse } from '../../shared/rehearse/rehearse.ts'
import type { RehearsalRequest } from '../../shared/rehearse/report.ts'
import { makeRunbook, type Rehearsed } from '../../shared/runbook/make.ts'
import { recoveriesFor } from '../../shared/runbook/recoveries.ts'
import type { Runbook, Step } from '../../shared/runbook/schema.ts'
import { type RunAnswer, type RunState, runbookState } from '../../shared/runbook/state.ts'

/** A rehearsal, carried out. */
export function rehearsed(
  request: RehearsalRequest,
): Rehearsed & { flash: Parameters<typeof recoveriesFor>[1] } {
  const done = rehearse(request)
  if (!done.ok) throw new Error(done.problems[0].message)
  const { report, trace } = done.value
  return { request, report, phases: trace.phases, flash: trace.flash }
}

/** The runbook of a rehearsal, with its recoveries. */
export function runbookOf(request: RehearsalRequest): Runbook {
  const one = rehearsed(request)
  const made = makeRunbook(one, { recovery: recoveriesFor(request, one.flash) })
  if (!made.ok) throw new Error(made.problems[0].message)
  return made.value
}

export const stepOf = (runbook: Runbook, id: string): Step => {
  const found = runbook.steps.find(step => step.id === id)
  if (found === undefined) throw new Error(`no step ${id}`)
  return found
}

type Said = RunAnswer extends infer A ? (A extends { said: infer S } ? S : never) : never

/** A run that is answered step by step, one second after another. */
export class Run {
  readonly answers: RunAnswer[] = []
  readonly runbook: Runbook
  constructor(runbook: Runbook) {
    this.runbook = runbook
  }
  get state(): RunState {
    return runbookState(this.runbook, 0, this.answers)
  }
  say(said: Said, other = 0): this {
    const base = { step: this.state.step.id, atMs: (this.answers.length + 1) * 1000 }
    this.answers.push(said === 'other' ? { ...base, said, other } : ({ ...base, said } as RunAnswer))
    return this
  }
  /** Sees what should be seen, until this step is the one to do. */
  sawUntil(id: string): this {
    for (let i = 0; i < 100 && this.state.step.id !== id; i++) this.say('saw')
    return this
  }
  otherBy(text: RegExp): this {
    return this.say(
      'other',
      this.state.step.others.findIndex(one => text.test(one.text)),
    )
  }
}
