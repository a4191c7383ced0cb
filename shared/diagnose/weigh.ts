import type { Readings, System } from './system.ts'

/** Sets of causes, one at each place of the three lists. */
export interface Weighed {
  /** Cause ids in the order of the system. */
  readonly members: readonly (readonly string[])[]
  /** Natural logarithm of prior odds times the probability of each reading. */
  readonly logs: readonly number[]
  /** Ids of facts that somebody must have misread. */
  readonly doubts: readonly (readonly string[])[]
}

/** A reading that is never misread would make one mistake impossible to recover from. */
const LEAST_MISREAD = 1e-4

/** Natural logarithm of how much less likely than the likeliest a set may be and still be told: about 1 in 10^10. */
const NEGLIGIBLE = 23

/** Facts are taken eight at a time: what each pattern of wrong readings weighs is looked up. */
const LANE = 8

interface Compiled {
  readonly causes: readonly { readonly id: string; readonly logOdds: number; readonly explains: boolean }[]
  readonly factIds: readonly string[]
  /** By lane: a bit is 1 where the fact was read as unsound. */
  readonly unsound: Uint8Array
  /** By lane, the logarithm of how likely the readings are, by the pattern of those that must be wrong. */
  readonly logOf: readonly Float64Array[]
  /** By cause and lane: a bit is 1 where the cause shows in the fact. */
  readonly effects: readonly Uint8Array[]
}

function compile(system: System, readings: Readings): Compiled {
  const excluded = new Set(system.symptom.excludes)
  const explains = new Set(system.symptom.shows.filter(id => !system.repaired?.includes(id)))
  const causes = system.causes
    .filter(({ id }) => !excluded.has(id))
    .map(({ id, prior }) => ({ id, logOdds: Math.log(prior / (1 - prior)), explains: explains.has(id) }))
  const read = system.facts.filter(fact => readings.has(fact.id))
  const shown = read.map(fact => new Set(fact.shows))
  return {
    causes,
    factIds: read.map(({ id }) => id),
    unsound: lanes(read.map(({ id }) => readings.get(id) === 'unsound')),
    logOf: Array.from({ length: Math.ceil(read.length / LANE) }, (_, lane) =>
      logOfPatterns(read.slice(lane * LANE, (lane + 1) * LANE).map(({ misread }) => misread)),
    ),
    effects: causes.map(({ id }) => lanes(shown.map(set => set.has(id)))),
  }
}

function lanes(bits: readonly boolean[]): Uint8Array {
  const packed = new Uint8Array(Math.ceil(bits.length / LANE))
  bits.forEach((bit, f) => {
    if (bit) packed[f >> 3] |= 1 << (f & 7)
  })
  return packed
}

function logOfPatterns(misreads: readonly number[]): Float64Array {
  const logs = misreads.map(misread => {
    const wrong = Math.max(LEAST_MISREAD, misread)
    return { right: Math.log(1 - wrong), wrong: Math.log(wrong) }
  })
  return Float64Array.from({ length: 1 << misreads.length }, (_, pattern) =>
    logs.reduce((sum, { right, wrong }, f) => sum + ((pattern >> f) & 1 ? wrong : right), 0),
  )
}

/** All sets of at most `mostFaults` causes that explain the symptom and are not negligible beside the likeliest. */
export function weigh(system: System, readings: Readings, mostFaults: number): Weighed {
  const compiled = compile(system, readings)
  const { causes, effects, unsound, logOf } = compiled
  // Thousands of sets are gone through: what is kept of them stands in three lists of numbers until it is clear which
  // are negligible.
  const kept = { logs: [] as number[], sizes: [] as number[], members: [] as number[] }
  const chosen = new Uint16Array(mostFaults)
  const seenAt = Array.from({ length: mostFaults + 1 }, () => new Uint8Array(logOf.length))
  let most = Number.NEGATIVE_INFINITY
  const visit = (depth: number, from: number, odds: number, explains: boolean) => {
    const [before, after] = [seenAt[depth], seenAt[depth + 1]]
    for (let i = from; i < causes.length; i++) {
      chosen[depth] = i
      const nowOdds = odds + causes[i].logOdds
      const nowExplains = explains || causes[i].explains
      const effect = effects[i]
      let log = nowOdds
      for (let l = 0; l < logOf.length; l++) {
        after[l] = before[l] | effect[l]
        log += logOf[l][after[l] ^ unsound[l]]
      }
      if (nowExplains && log > most - NEGLIGIBLE) {
        kept.logs.push(log)
        kept.sizes.push(depth + 1)
        for (let at = 0; at <= depth; at++) kept.members.push(chosen[at])
        most = Math.max(most, log)
      }
      if (depth + 1 < mostFaults) visit(depth + 1, i + 1, nowOdds, nowExplains)
    }
  }
  visit(0, 0, 0, false)
  return likelyOf(compiled, kept, most - NEGLIGIBLE)
}

interface Kept {
  readonly logs: readonly number[]
  readonly sizes: readonly number[]
  /** Places of the causes, one set after the other. */
  readonly members: readonly number[]
}

/** With names, those above a limit. */
function likelyOf(compiled: Compiled, kept: Kept, aboveLog: number): Weighed {
  const members: string[][] = []
  const logs: number[] = []
  const doubts: (readonly string[])[] = []
  for (let k = 0, start = 0; k < kept.logs.length; start += kept.sizes[k++]) {
    if (kept.logs[k] <= aboveLog) continue
    const end = start + kept.sizes[k]
    const ids: string[] = []
    for (let at = start; at < end; at++) ids.push(compiled.causes[kept.members[at]].id)
    members.push(ids)
    logs.push(kept.logs[k])
    doubts.push(doubtsOf(compiled, kept.members, start, end))
  }
  return { members, logs, doubts }
}

const NO_DOUBTS: readonly string[] = []

/** @param chosen places of causes; those from `start` up to before `end` are meant */
function doubtsOf(
  { factIds, effects, unsound }: Compiled,
  chosen: readonly number[],
  start: number,
  end: number,
): readonly string[] {
  if (factIds.length === 0) return NO_DOUBTS
  const doubts: string[] = []
  for (let lane = 0; lane < unsound.length; lane++) {
    let seen = 0
    for (let at = start; at < end; at++) seen |= effects[chosen[at]][lane]
    const wrong = seen ^ unsound[lane]
    for (let bit = 0; wrong >> bit !== 0; bit++)
      if ((wrong >> bit) & 1) doubts.push(factIds[lane * LANE + bit])
  }
  return doubts
}
