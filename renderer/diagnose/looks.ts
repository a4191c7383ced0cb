import type { Answered } from '../../shared/diagnose/answers.ts'
import type { Answer } from '../../shared/diagnose/report.ts'

/**
 * Who has looked at a fact, and when. A repair may lie between two looks, so the later one is believed, whoever looked;
 * what the other saw is kept where it was the opposite, for the person should know and look again if in doubt.
 */
export interface Look {
  readonly answer: Answer
  /** Milliseconds since 1970. */
  readonly atMs: number
}
export type Looks = Readonly<Record<string, Look>>
export type Looker = 'you' | 'write'

export interface Looked extends Answered {
  /** Facts among the answers that a write has seen by itself, and the person has not answered since. */
  readonly seenByWrite: readonly string[]
  /** When what stands among the answers was looked at, in milliseconds since 1970. */
  readonly lookedAtMs: Readonly<Record<string, number>>
  /** The opposite of what stands, as the other of both saw it: the write, or the person. */
  readonly otherwise: Readonly<Record<string, Answer>>
}

export const NOTHING_LOOKED: Looked = {
  ...{ answers: {}, confirmed: [], seenByWrite: [] },
  ...{ lookedAtMs: {}, otherwise: {} },
}

const isSure = (answer: Answer): boolean => answer !== 'cannot-check'

function without<T>(all: Readonly<Record<string, T>>, id: string): Record<string, T> {
  const { [id]: _, ...others } = all
  return others
}

/** What is known together with what was looked at somewhere else, each in its time. */
export function withLooks(known: Looked, looks: Looks, by: Looker): Looked {
  let all = known
  for (const [id, look] of Object.entries(looks)) all = withLook(all, id, look, by)
  return all
}

function withLook(known: Looked, id: string, look: Look, by: Looker): Looked {
  const before = known.answers[id]
  if (before === undefined) return stands(known, id, look, by)
  if (!isSure(look.answer)) return known
  if (!isSure(before) || look.atMs >= (known.lookedAtMs[id] ?? 0)) return stands(known, id, look, by)
  return whoseOf(known, id) === by ? known : differing(known, id, look.answer)
}

/** This look counts from now on. */
function stands(known: Looked, id: string, { answer, atMs }: Look, by: Looker): Looked {
  const before = known.answers[id]
  const isOwn = before === undefined || whoseOf(known, id) === by
  // What the person has looked at as well is theirs.
  const isOfWrite = by === 'write' && (isOwn || before !== answer)
  const seenByOthers = known.seenByWrite.filter(one => one !== id)
  return differing(
    {
      answers: { ...known.answers, [id]: answer },
      confirmed: before === answer ? known.confirmed : known.confirmed.filter(one => one !== id),
      seenByWrite: isOfWrite ? [...seenByOthers, id] : seenByOthers,
      lookedAtMs: { ...known.lookedAtMs, [id]: atMs },
      otherwise: known.otherwise,
    },
    id,
    isOwn ? known.otherwise[id] : before,
  )
}

const whoseOf = ({ seenByWrite }: Looked, id: string): Looker => (seenByWrite.includes(id) ? 'write' : 'you')

/** @param other what the other one saw, kept where it is the opposite of what stands */
function differing(known: Looked, id: string, other: Answer | undefined): Looked {
  const others = without(known.otherwise, id)
  const answer = known.answers[id]
  const isOpposite = other !== undefined && isSure(other) && isSure(answer) && other !== answer
  return { ...known, otherwise: isOpposite ? { ...others, [id]: other } : others }
}

/**
 * What the person has said of a fact in the Diagnose view, at whatever was told there.
 * @param told the answers as they are now; the fact is missing where the answer was taken back or is open again
 */
export function looked(known: Looked, told: Answered, id: string, atMs: number): Looked {
  const answer = told.answers[id]
  if (answer !== undefined) {
    const { seenByWrite, lookedAtMs, otherwise } = stands(known, id, { answer, atMs }, 'you')
    return { ...told, seenByWrite, lookedAtMs, otherwise }
  }
  return {
    ...told,
    seenByWrite: known.seenByWrite.filter(one => one !== id),
    lookedAtMs: without(known.lookedAtMs, id),
    otherwise: without(known.otherwise, id),
  }
}
