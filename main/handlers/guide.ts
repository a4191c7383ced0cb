import type { AppContract } from '../../shared/api/contract.ts'
import type { Handlers } from '../../shared/api/define.ts'
import type { guideMethods, OpenRun } from '../../shared/api/guide.ts'
import { need } from '../../shared/api/serve.ts'
import type { LogEvent } from '../../shared/logbook/event.ts'
import type { NewSession, SessionHead } from '../../shared/logbook/session.ts'
import { type Problem, ProblemError } from '../../shared/model/problem.ts'
import { isKnown } from '../../shared/model/units.ts'
import type { Outcome } from '../../shared/procedure/effects.ts'
import type { ImageChoice } from '../../shared/rehearse/report.ts'
import { type Left, leftBy, leftWords, type ReceiverLeft } from '../../shared/runbook/left.ts'
import { fromLogged, toLogged } from '../../shared/runbook/logged.ts'
import { type Runbook, runbookSchema } from '../../shared/runbook/schema.ts'
import { type RunAnswer, runbookState } from '../../shared/runbook/state.ts'
import type { Journal, SessionEnd } from '../store/journal.ts'
import type { Simulate } from '../work/simulate.ts'

/** Older runs that were left open are not offered any more. */
const MOST_LOOKED_AT = 50

/** The logbook of the data folder; see `Logbook`. */
export interface JournalKeeper {
  use<T>(work: (journal: Journal) => T): Promise<T>
  look<T>(work: (journal: Journal) => T, without: T): Promise<T>
}

export interface GuideParts {
  readonly logbook: JournalKeeper
  /** Puts the file of a library's image in its place. */
  readonly withFile: (image: ImageChoice) => Promise<ImageChoice>
  readonly simulate: Simulate
}

/** `guide.…`: runbooks, and guided runs in the logbook. */
export function guideHandlers({
  logbook,
  withFile,
  simulate,
}: GuideParts): Pick<Handlers<AppContract>, keyof typeof guideMethods> {
  /** Begun by this very program: open, and not interrupted. */
  const own = new Set<string>()
  return {
    'guide.plan': async asked => {
      const request = { ...asked, image: await withFile(asked.image) }
      return { runbook: need(await simulate('runbook', { request, asked })) }
    },
    'guide.begin': ({ runbook, benchName }) =>
      logbook.use(journal => {
        const id = journal.begin(sessionOf(runbook, benchName))
        own.add(id)
        return { id, beganAtMs: journal.session(id).session.startedAtMs }
      }),
    'guide.append': ({ id, from, answers }) =>
      logbook.use(journal => {
        const run = runOf(journal, id)
        const known = run.answers.length
        if (from > known) throw new ProblemError(gap(known, from))
        const isOther = answers
          .slice(0, known - from)
          .some((answer, i) => !isSame(answer, run.answers[from + i]))
        if (isOther) throw new ProblemError(elsewhere)
        const more = answers.slice(known - from)
        for (const answer of more) journal.append(id, toLogged(run.runbook, answer))
        return { count: known + more.length }
      }),
    'guide.end': ({ id }) => logbook.use(journal => endRun(journal, id)),
    'guide.open': () =>
      logbook.look<{ run: OpenRun | null }>(journal => ({ run: latestOpen(journal, own) }), { run: null }),
  }
}

const isSame = (a: RunAnswer, b: RunAnswer): boolean =>
  a.step === b.step &&
  a.said === b.said &&
  (a.said !== 'other' || (b.said === 'other' && a.other === b.other))

function sessionOf(runbook: Runbook, benchName: string): NewSession {
  const { receiver, image } = runbook
  const { name, version, sha256, sizeBytes } = image
  return {
    kind: 'guided',
    receiverId: receiver.id,
    nickname: receiver.nickname,
    typeId: receiver.typeId,
    benchName,
    image: { name: name.slice(0, 200), version: isKnown(version) ? version : null, sha256, sizeBytes },
    plan: runbook,
  }
}

function runOf(journal: Journal, id: string): OpenRun {
  const { session, events } = journal.session(id)
  const runbook = runbookSchema.safeParse(session.plan)
  if (session.kind !== 'guided' || !runbook.success) throw new ProblemError(notGuided)
  const answers = events.flatMap(({ atMs, event }) => fromLogged(event, atMs) ?? [])
  return { id, beganAtMs: session.startedAtMs, benchName: session.benchName, runbook: runbook.data, answers }
}

/** Asked a second time, because the first answer got lost, it only says again what became of the receiver. */
function endRun(journal: Journal, id: string): { receiver: ReceiverLeft; isChecked: boolean } {
  const { runbook, beganAtMs, answers } = runOf(journal, id)
  const isOpen = journal.session(id).session.endedAtMs === null
  const state = runbookState(runbook, beganAtMs, answers)
  if (state.at !== 'ended') throw new ProblemError(notEnded)
  const left = leftBy(runbook, state)
  if (isOpen) {
    for (const event of lastWords(runbook, left)) journal.append(id, event)
    journal.end(id, endingOf(left))
  }
  return { receiver: left.receiver, isChecked: left.isChecked }
}

function lastWords({ image }: Runbook, { receiver, isChecked }: Left): LogEvent[] {
  const text = leftWords[receiver]
  const runs = receiver === 'runs-new' && isKnown(image.version) ? { version: image.version } : {}
  const isSure = receiver === 'runs-new' || receiver === 'as-before'
  return [
    { kind: 'state', state: isSure ? 'runs' : 'not-known', text, ...runs },
    ...(receiver === 'runs-new' && !isChecked
      ? [{ kind: 'note' as const, level: 'caution' as const, text: NOT_CHECKED }]
      : []),
  ]
}
const NOT_CHECKED = 'Failsafe and range check were not seen to pass in this run: no flight before they are.'

const ENDINGS: Readonly<Record<ReceiverLeft, SessionEnd>> = {
  'as-before': { ending: 'cancelled', outcome: 'unchanged' satisfies Outcome },
  'partly-written': { ending: 'failed', outcome: null },
  'not-known': { ending: 'failed', outcome: null },
  'written-not-proven': { ending: 'failed', outcome: null },
  'runs-new': { ending: 'done', outcome: 'updated' satisfies Outcome },
}
const endingOf = ({ receiver }: Left): SessionEnd => ENDINGS[receiver]

function latestOpen(journal: Journal, own: ReadonlySet<string>): OpenRun | null {
  const isOpen = ({ kind, endedAtMs }: SessionHead) => kind === 'guided' && endedAtMs === null
  const mine = journal
    .sessions({ kind: 'guided', limit: MOST_LOOKED_AT })
    .sessions.filter(head => isOpen(head) && own.has(head.id))
  const all = [...mine, ...journal.interrupted().filter(isOpen)]
  const [latest] = all.sort((a, b) => b.startedAtMs - a.startedAtMs)
  if (latest === undefined) return null
  try {
    return runOf(journal, latest.id)
  } catch (error) {
    // A run of a version of this program that knew other steps cannot be gone on with.
    if (error instanceof ProblemError && error.problem.code === notGuided.code) return null
    throw error
  }
}

const notGuided: Problem = {
  code: 'guide.not-guided',
  message: 'This session of the logbook is no guided run that could be gone on with.',
}
const elsewhere: Problem = {
  code: 'guide.elsewhere',
  message: 'Somebody has gone on with this run in another window, and answered otherwise.',
  remedy: 'Go on there, or load this window anew to see where the run stands.',
}
const notEnded: Problem = {
  code: 'guide.not-ended',
  message: 'The run has not come to its end yet.',
  remedy: 'Stop it first.',
}
const gap = (known: number, from: number): Problem => ({
  code: 'guide.gap',
  message: 'Answers in between are missing in the logbook.',
  expected: `from ${known} on, not from ${from}`,
})
