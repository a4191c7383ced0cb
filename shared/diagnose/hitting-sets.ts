/**
 * Minimal hitting sets: the smallest choices that have a member in common with every set given. Reiter, A Theory of
 * Diagnosis from First Principles, Artificial Intelligence 32 (1987), theorem 4.4: the minimal diagnoses of a system
 * are the minimal hitting sets of its conflicts.
 *
 * Computed set by set (Berge, Hypergraphs, 1989, chapter 2.1): a hitting set of the sets so far that misses the next
 * one is extended by each of its members, and kept where no smaller one has come out.
 *
 * @param conflicts numbers from 0, in any order; an empty conflict cannot be hit
 * @param mostMembers larger hitting sets are left out
 * @returns sorted sets, the smaller first, then by their numbers; `[[]]` where there is no conflict
 */
export function minimalHittingSets(
  conflicts: readonly (readonly number[])[],
  mostMembers = Number.POSITIVE_INFINITY,
): number[][] {
  let sets: bigint[] = [0n]
  // The smallest first: they narrow most.
  const masks = [...new Set(conflicts.map(maskOf))].sort((a, b) => countOf(a) - countOf(b))
  for (const conflict of masks) sets = extend(sets, conflict, mostMembers)
  return sets.map(membersOf).sort((a, b) => a.length - b.length || compareMembers(a, b))
}

function extend(sets: readonly bigint[], conflict: bigint, mostMembers: number): bigint[] {
  const kept = sets.filter(set => (set & conflict) !== 0n)
  const missing = sets.filter(set => (set & conflict) === 0n)
  const found = new Set<bigint>()
  for (const set of missing) {
    if (countOf(set) >= mostMembers) continue
    for (const member of membersOf(conflict)) {
      const larger = set | (1n << BigInt(member))
      // One that is kept hits everything so far; what contains it is not minimal.
      if (!kept.some(other => (other & larger) === other)) found.add(larger)
    }
  }
  const fresh = [...found]
  return [...kept, ...fresh.filter(set => !fresh.some(other => other !== set && (other & set) === other))]
}

const maskOf = (members: readonly number[]): bigint =>
  members.reduce((mask, member) => mask | (1n << BigInt(member)), 0n)

function membersOf(mask: bigint): number[] {
  const members: number[] = []
  for (let rest = mask, at = 0; rest !== 0n; rest >>= 1n, at++) if ((rest & 1n) === 1n) members.push(at)
  return members
}

const countOf = (mask: bigint): number => membersOf(mask).length

function compareMembers(a: readonly number[], b: readonly number[]): number {
  const at = a.findIndex((member, i) => member !== b[i])
  return at < 0 ? 0 : a[at] - b[at]
}
