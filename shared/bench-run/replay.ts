import type { WriteEnd } from '../dialect/plan.ts'
import { type LogEvent, sessionEventSchema } from '../logbook/event.ts'
import type { SessionFile } from '../logbook/session-file.ts'
import { failed, type Result, succeeded } from '../model/problem.ts'
import type { SessionEvent } from '../procedure/effects.ts'
import { answerOf, withAnswers } from './answers.ts'
import { planFromJson } from './plan-json.ts'

/**
 * A session out of a logbook, carried out again without hardware: the procedure of its plan is given the answers that
 * were recorded, and must do and say the same.
 */
export interface Replay {
  readonly same: boolean
  /** What the procedure says on the replay, but its progress. */
  readonly events: readonly SessionEvent[]
  /** How many of them, one after the other, the record has too or is free to have. */
  readonly agreed: number
  /** Where they part; null where they do not. */
  readonly parts: { readonly recorded: SessionEvent | null; readonly replayed: SessionEvent | null } | null
  readonly answers: number
  /** The record breaks off before the procedure was through. */
  readonly brokenOff: boolean
  readonly end: WriteEnd | null
}

/** @returns `write.no-plan` or `session.no-answers` where there is nothing to replay, `session.field` for bad answers */
export function replaySession({ session, events }: Pick<SessionFile, 'session' | 'events'>): Result<Replay> {
  const stored = planFromJson(session.plan)
  if (!stored.ok) return stored
  const log = events.map(({ event }) => event)
  const texts = log.flatMap(event => (event.kind === 'answers' ? event.answers : []))
  if (texts.length === 0)
    return failed({
      code: 'session.no-answers',
      message: 'Nothing that was answered is recorded in this session, so it cannot be replayed.',
      remedy: 'Choose a session of a write that had begun.',
    })
  const answers = texts.map(answerOf)
  const bad = answers.indexOf(undefined)
  if (bad >= 0)
    return failed({
      code: 'session.field',
      field: `answers[${bad}]`,
      message: 'This is not an answer of a line or a store.',
      remedy: 'Export the session again.',
    })
  const said: SessionEvent[] = []
  const { ready } = stored.value
  const replayed = withAnswers(
    ready.procedure(ready.canBackUp ? 'backup.bin' : undefined),
    answers.filter(a => a !== undefined),
    effect => {
      if (effect.do === 'say' && effect.event.kind !== 'progress') said.push(effect.event)
    },
  )
  const brokenOff = replayed.result === undefined
  const { agreed, parts } = compare(saidIn(log), said, brokenOff)
  return succeeded({
    same: parts === null && (replayed.ranOut || replayed.result !== undefined),
    ...{ events: said, agreed, parts, answers: answers.length, brokenOff },
    end: replayed.result ?? null,
  })
}

/** What the procedure itself can have said. */
function saidIn(log: readonly LogEvent[]): SessionEvent[] {
  return log.flatMap(event => {
    const told = sessionEventSchema.safeParse(event)
    return told.success && told.data.kind !== 'progress' && told.data.kind !== 'outcome' ? [told.data] : []
  })
}

/** Whoever carried it out may have had a word of its own, too: no echo, no control lines. */
const isOwnWord = (event: SessionEvent): event is Extract<SessionEvent, { kind: 'note' }> =>
  event.kind === 'note' && event.level === 'caution'

const alike = (a: SessionEvent, b: SessionEvent | undefined) =>
  b !== undefined && JSON.stringify(whatItSays(a)) === JSON.stringify(whatItSays(b))

/**
 * What was said again, that an attempt failed, and that something is to be minded there, is told by other fields or by
 * its place too; its words change with the versions.
 */
const whatItSays = (event: SessionEvent): SessionEvent =>
  event.kind === 'retry' || event.kind === 'attempt-failed' || isOwnWord(event)
    ? { ...event, text: '' }
    : event

/** Said so that whoever looks on can follow: how much of that there is, and its words, change with the versions. */
const isAside = (event: SessionEvent | undefined): boolean => event?.kind === 'note' && event.level === 'info'

/** @param brokenOff record and answers end at different moments: what only one of them has at its end is no difference */
function compare(recorded: readonly SessionEvent[], replayed: readonly SessionEvent[], brokenOff: boolean) {
  let at = 0
  const passAsides = () => {
    while (isAside(replayed[at])) at++
  }
  for (const event of recorded) {
    if (isAside(event)) continue
    passAsides()
    if (alike(event, replayed[at])) at++
    else if (!isOwnWord(event))
      return brokenOff && at === replayed.length
        ? { agreed: at, parts: null }
        : { agreed: at, parts: { recorded: event, replayed: replayed[at] ?? null } }
  }
  passAsides()
  return at === replayed.length || brokenOff
    ? { agreed: at, parts: null }
    : { agreed: at, parts: { recorded: null, replayed: replayed[at] } }
}
