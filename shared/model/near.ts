/** How many letters have to be put in, left out, replaced or swapped with their neighbour. */
function lettersApart(a: string, b: string): number {
  // Optimal string alignment; three rows of its table are enough.
  let [before, above]: [number[], number[]] = [[], Array.from({ length: b.length + 1 }, (_, i) => i)]
  for (let i = 1; i <= a.length; i++) {
    const row = [i]
    for (let j = 1; j <= b.length; j++) {
      const same = a[i - 1] === b[j - 1] ? 0 : 1
      row[j] = Math.min(above[j] + 1, row[j - 1] + 1, above[j - 1] + same)
      if (i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1])
        row[j] = Math.min(row[j], before[j - 2] + 1)
    }
    ;[before, above] = [above, row]
  }
  return above[b.length]
}

const MOST_NEAR = 3
const MOST_LETTERS = 60
const plain = (text: string) => text.toLowerCase().replaceAll(/[\s_]+/g, '-')

/** @returns up to three of the names that may have been meant, the nearest first */
export function nearNames(given: string, names: readonly string[]): string[] {
  const wanted = plain(given.slice(0, MOST_LETTERS))
  if (wanted === '') return []
  const allowed = Math.max(1, Math.floor(wanted.length / 3))
  return names
    .map(name => ({
      name,
      apart: plain(name).includes(wanted) ? 0.5 : lettersApart(wanted, plain(name)),
    }))
    .filter(({ apart }) => apart <= allowed)
    .sort((a, b) => a.apart - b.apart)
    .slice(0, MOST_NEAR)
    .map(({ name }) => name)
}
