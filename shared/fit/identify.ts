import type { Bench } from '../model/bench.ts'
import type { ReceiverType } from '../model/catalogue.ts'
import type { ReceiverUnit } from '../model/gear.ts'
import { nothingSeen, type Seen } from '../model/looks.ts'
import { isKnown, UNKNOWN } from '../model/units.ts'
import { factOf, LOOKS, type LookName } from './looks.ts'
import { withUnit } from './rule.ts'

/** Of which type is a receiver that carries no markings? What was seen rules types out; nothing is ever guessed. */

export interface Excluded {
  readonly type: ReceiverType
  /** In a sentence: what the type has, and what was seen instead. */
  readonly because: string
  /** What was seen that the type does not have. */
  readonly by: readonly LookName[]
}

export interface Identification {
  /** Types that nothing that was seen speaks against, in the order of the catalogue. */
  readonly possible: readonly ReceiverType[]
  readonly excluded: readonly Excluded[]
}

export const typeLabel = ({ maker, name }: ReceiverType): string => `${maker} ${name}`

const seenOf = (receiver: ReceiverUnit): Seen => receiver.seen ?? nothingSeen
const wasSeen = (seen: Seen, name: LookName): boolean => isKnown<unknown>(seen[name])

/**
 * Types of the catalogue that have all that was seen. What a type does not state never rules it out, and what nobody
 * looked at rules out nothing.
 */
export function possibleTypes(bench: Bench, receiver: ReceiverUnit): Identification {
  const seen = seenOf(receiver)
  const { catalogue } = bench
  const looked = LOOKS.filter(look => wasSeen(seen, look.name))
  const possible: ReceiverType[] = []
  const excluded: Excluded[] = []
  for (const type of catalogue.receiverTypes) {
    const against = looked.filter(look => look.agrees(type, seen) === false)
    if (against.length === 0) possible.push(type)
    else
      excluded.push({
        type,
        because: `${typeLabel(type)} ${against.map(look => look.has(type, catalogue)).join(' and ')}; seen: ${against.map(look => look.saw(seen, catalogue)).join(', ')}.`,
        by: against.map(look => look.name),
      })
  }
  return { possible, excluded }
}

/** One thing that was seen, with the way to take it back. */
export interface Observation {
  readonly fact: string
  readonly name: LookName
  /** "6 servo outputs" */
  readonly label: string
  /** The bench without it. */
  readonly takenBack: Bench
  /** Types that nothing would speak against without it, and something does with it. */
  readonly wouldAllow: readonly ReceiverType[]
}

/** All that was seen of a receiver, in the order in which it is easy to look at. */
export function observations(bench: Bench, receiver: ReceiverUnit): Observation[] {
  const seen = seenOf(receiver)
  const { excluded } = possibleTypes(bench, receiver)
  return LOOKS.filter(look => wasSeen(seen, look.name)).map(({ name, saw }) => ({
    fact: factOf(name),
    name,
    label: saw(seen, bench.catalogue),
    takenBack: withSeen(bench, receiver, { [name]: UNKNOWN }),
    wouldAllow: excluded.filter(({ by }) => by.length === 1 && by[0] === name).map(({ type }) => type),
  }))
}

/** The bench with something more, or something else, seen of this receiver. */
export function withSeen(bench: Bench, receiver: ReceiverUnit, more: Partial<Seen>): Bench {
  const seen = { ...seenOf(receiver), ...more }
  const isNothing = LOOKS.every(look => !wasSeen(seen, look.name))
  return withUnit(bench, 'receivers', receiver.id, { seen: isNothing ? undefined : seen })
}

/** What was seen that this type states as well: why one would say that the receiver is one. */
export function speaksFor(bench: Bench, receiver: ReceiverUnit, type: ReceiverType): string[] {
  const seen = seenOf(receiver)
  return LOOKS.filter(look => look.agrees(type, seen) === true).map(look => look.saw(seen, bench.catalogue))
}
