import type { Bench } from '../model/bench.ts'
import { ProblemError } from '../model/problem.ts'
import type { Route } from '../model/units.ts'
import { type Dice, dice } from '../sim/dice.ts'
import type { Setup } from '../sim/world.ts'
import { CAUSES, type Cause } from './causes.ts'
import { type FactSpec, findFact } from './facts.ts'
import { isAbout, isBroken } from './model.ts'
import type { Put } from './put.ts'
import type { SymptomId } from './report.ts'
import type { Reading } from './system.ts'
import { twinOf } from './twin.ts'
import { type Seen, watch } from './watch.ts'

/**
 * The tester's corner: something is wrong on a simulated table, and whoever looks for it, a person in training or the
 * engine in its own measure, is told what a session carried out on that table shows, and nothing else. No answer comes
 * from what the engine believes about causes.
 */
export interface HiddenFaults {
  readonly receiverId: string
  readonly route: Route
  readonly symptom: SymptomId
  /** Ids of the causes that are on the table. */
  readonly truth: readonly string[]
  /**
   * One look at a fact. Where looks may lie, each look is a throw of its own.
   * @param repaired ids of causes that have been put right by now
   * @throws RangeError for a fact that there is not
   */
  ask(factId: string, repaired?: readonly string[]): 'yes' | 'no'
  /** What is really there, without a lie. */
  reading(factId: string, repaired?: readonly string[]): Reading
  /** What a session shows once these causes are put right; `none` when all goes well. */
  after(repaired: readonly string[]): SymptomId | 'none'
}

export interface HideOptions {
  /** How many things are wrong; one or two at random where it is missing. */
  readonly faults?: 1 | 2
  /** At random where it is missing. */
  readonly route?: Route
  /** Probability that a look shows the opposite, 0 up to below 0.5; 0 where it is missing. */
  readonly lies?: number
}

/** One cause in one of its forms. */
export interface Placed {
  readonly cause: Cause
  readonly put: Put
}

/** Pairs that cannot stand side by side are thrown again. */
const MOST_THROWS = 400

/**
 * Hides one or two causes, drawn by their rates, in a copy of the receiver's table.
 * @param seed any whole number; the same one hides the same
 * @returns undefined when the receiver or its type is not on the bench
 */
export function hideFaults(
  bench: Bench,
  receiverId: string,
  seed: number,
  options: HideOptions = {},
): HiddenFaults | undefined {
  const d = dice(seed, 'hide')
  const route = options.route ?? (d.next() < 0.5 ? 'cable' : 'wireless')
  const count = options.faults ?? (d.next() < 0.5 ? 1 : 2)
  const twin = twinOf(bench, receiverId, route)
  if (twin === undefined) return undefined
  const candidates = CAUSES.filter(cause => cause.routes.includes(route))
  for (let throws = 0; throws < MOST_THROWS; throws++) {
    const placed = draw(candidates, count, d)
    const table = placeOn(twin, placed, seed)
    if (table === undefined) continue
    const { symptom } = table.seen
    if (symptom === 'none') continue
    const liar = dice(seed, 'lies')
    const lies = options.lies ?? 0
    const tables = new Map<string, PlacedTable | undefined>([['', table]])
    const left = (repaired: readonly string[]): PlacedTable => {
      const rest = placed.filter(({ cause }) => !repaired.includes(cause.id))
      const key = placed.flatMap(one => (rest.includes(one) ? [] : one.cause.id)).join()
      const kept = tables.get(key) ?? placeOn(twin, rest, seed) ?? table
      tables.set(key, kept)
      return kept
    }
    const reading = (factId: string, repaired: readonly string[] = []) =>
      left(repaired).reading(specOf(factId))
    return {
      receiverId,
      route,
      symptom,
      truth: placed.map(({ cause }) => cause.id),
      reading,
      ask: (factId, repaired) => {
        const isSound = (reading(factId, repaired) === 'sound') !== liar.next() < lies
        return isSound === (specOf(factId).sound === 'yes') ? 'yes' : 'no'
      },
      after: repaired => left(repaired).seen.symptom,
    }
  }
  return undefined
}

function specOf(factId: string): FactSpec {
  const spec = findFact(factId)
  if (spec === undefined) throw new RangeError(`there is no fact "${factId}"`)
  return spec
}

/** Different causes, each by its rate, in any of its forms. */
function draw(candidates: readonly Cause[], count: number, d: Dice): Placed[] {
  const placed: Placed[] = []
  while (placed.length < count) {
    const left = candidates.filter(cause => placed.every(p => p.cause !== cause))
    const cause = byRate(left, d)
    const { variants } = cause
    placed.push({ cause, put: variants[Math.floor(d.between(0, variants.length))] })
  }
  return placed
}

function byRate(causes: readonly Cause[], d: Dice): Cause {
  const total = causes.reduce((sum, { perThousand }) => sum + perThousand, 0)
  let left = d.between(0, total)
  for (const cause of causes) {
    left -= cause.perThousand
    if (left < 0) return cause
  }
  return causes[causes.length - 1]
}

/** A table with causes on it, as sessions carried out on it show it. */
export interface PlacedTable {
  readonly seen: Seen
  reading(fact: FactSpec): Reading
  /** What a session shows when the causes that are left out are put right. */
  without(leaveOut: (cause: Cause) => boolean): SymptomId | 'none'
}

/**
 * @returns undefined where they cannot be there together: a low pack and none at all, a module that is both too old and
 * too new
 */
export function placeOn(twin: Setup, placed: readonly Placed[], seed: number): PlacedTable | undefined {
  const setup = together(twin, placed)
  if (setup === undefined) return undefined
  const seen = watch(setup, seed)
  const symptoms = new Map<string, SymptomId | 'none'>()
  const without = (leaveOut: (cause: Cause) => boolean) => {
    const rest = placed.filter(({ cause }) => !leaveOut(cause))
    const key = rest.map(({ cause }) => cause.id).join()
    const symptom =
      symptoms.get(key) ?? (rest.length === placed.length ? seen : watch(putAll(twin, rest), seed)).symptom
    symptoms.set(key, symptom)
    return symptom
  }
  const isUnsound = ({ by }: FactSpec): boolean => {
    if (by.kind === 'observable') return seen.unsound.has(by.observable)
    if (by.kind === 'swap') return without(cause => cause.part === by.part) !== 'none'
    // A rule is about the image that was chosen; what lies on the card instead is a matter of the cause.
    return isBroken(by, seen) || placed.some(({ cause }) => isAbout(by, cause))
  }
  return { seen, without, reading: fact => (isUnsound(fact) ? 'unsound' : 'sound') }
}

const putAll = (twin: Setup, placed: readonly Placed[]): Setup =>
  placed.reduce((setup, { put }) => put(setup), twin)

/** The table with all of them, where each changes something that none of the others takes back. */
function together(twin: Setup, placed: readonly Placed[]): Setup | undefined {
  try {
    const setup = putAll(twin, placed)
    const written = JSON.stringify(setup)
    const isSame = (other: readonly Placed[]) => JSON.stringify(putAll(twin, other)) === written
    if (placed.length > 1 && !isSame([...placed].reverse())) return undefined
    return placed.some(one => isSame(placed.filter(p => p !== one))) ? undefined : setup
  } catch (error) {
    if (error instanceof ProblemError) return undefined
    throw error
  }
}
