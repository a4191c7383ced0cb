import type { Suspicion } from './likelihood.ts'

/**
 * The sets worth telling a person: no member can be left out without having to doubt one reading more. Where no
 * reading is doubted these are the minimal causes. Each takes over the likelihood of the sets that only add to it.
 * @param all as `suspicions` gives them
 */
export function worthTelling(all: readonly Suspicion[]): Suspicion[] {
  const number = numbering(all)
  const kept: Kept = { number, told: new Map(), largest: 0 }
  const largest = all.reduce((most, { members }) => Math.max(most, members.length), 0)
  for (let size = 1; size <= largest; size++)
    for (const suspicion of all) {
      if (suspicion.members.length !== size) continue
      const inside = likeliestInside(suspicion, kept)
      // What only adds to several of them speaks for the likeliest.
      if (inside) inside.likelihood += suspicion.likelihood
      else {
        const every = (1 << size) - 1
        kept.told.set(keyOf(suspicion.members, every, number), {
          suspicion,
          likelihood: suspicion.likelihood,
        })
        kept.largest = size
      }
    }
  return [...kept.told.values()]
    .map(({ suspicion, likelihood }) => ({ ...suspicion, likelihood }))
    .sort((a, b) => b.likelihood - a.likelihood || (a.members.join() < b.members.join() ? -1 : 1))
}

interface Told {
  readonly suspicion: Suspicion
  likelihood: number
}
interface Kept {
  readonly number: ReadonlyMap<string, number>
  readonly told: Map<number, Told>
  /** Of how many members the largest is. */
  largest: number
}

/** Each cause with a number from 1, so that a set can be found again by a single number. */
function numbering(all: readonly Suspicion[]): ReadonlyMap<string, number> {
  const number = new Map<string, number>()
  for (const { members } of all)
    for (let i = 0; i < members.length; i++)
      if (!number.has(members[i])) number.set(members[i], number.size + 1)
  return number
}

/** A number for the members that the mask names, in their order; another one for every other set. */
function keyOf(members: readonly string[], mask: number, number: ReadonlyMap<string, number>): number {
  let key = 0
  for (let i = 0; i < members.length; i++)
    if ((mask >> i) & 1) key = key * (number.size + 1) + (number.get(members[i]) ?? 0)
  return key
}

/** Of what is told already, the likeliest that leaves members of this one out and doubts nothing that this does not. */
function likeliestInside(suspicion: Suspicion, { number, told, largest }: Kept): Told | undefined {
  const { members } = suspicion
  let likeliest: Told | undefined
  if (members.length > 1)
    for (let i = 0; i < members.length; i++)
      likeliest = likelierOf(likeliest, told.get(number.get(members[i]) ?? 0), suspicion)
  for (let mask = 3; largest > 1 && mask < (1 << members.length) - 1; mask++) {
    const size = countOf(mask)
    if (size > 1 && size <= largest)
      likeliest = likelierOf(likeliest, told.get(keyOf(members, mask, number)), suspicion)
  }
  return likeliest
}

function likelierOf(
  likeliest: Told | undefined,
  part: Told | undefined,
  { doubts }: Suspicion,
): Told | undefined {
  if (part === undefined) return likeliest
  if (likeliest !== undefined && part.suspicion.likelihood <= likeliest.suspicion.likelihood) return likeliest
  for (const id of part.suspicion.doubts) if (!doubts.includes(id)) return likeliest
  return part
}

function countOf(mask: number): number {
  let count = 0
  for (let rest = mask; rest !== 0; rest &= rest - 1) count++
  return count
}
