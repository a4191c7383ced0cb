/**
 * How much an answer tells. Shannon, A Mathematical Theory of Communication (1948), section 6; the expected
 * information of a question is the mutual information of MacKay, Information Theory, Inference, and Learning
 * Algorithms (2003), section 8.1.
 */

/**
 * Bits that it takes to say into which group one of equally likely things falls.
 * @param groupSizes how many things are in each group, all at least 0
 */
export function entropyBits(groupSizes: readonly number[]): number {
  const total = groupSizes.reduce((sum, n) => sum + n, 0)
  return groupSizes.reduce((bits, n) => (n > 0 ? bits - (n / total) * Math.log2(n / total) : bits), 0)
}

/**
 * Bits that a question is expected to tell about which of equally likely cases is so. A case that several answers
 * would be true of gives each of them equally often.
 * @param answers for each answer, the cases that it would be true of, by number from 0
 * @param groupOf the group that a case belongs to, where only the group is asked for
 * @param cases how many cases there are; each should be in some answer
 */
export function informationBits(
  answers: readonly (readonly number[])[],
  cases: number,
  groupOf: (index: number) => string = String,
): number {
  // Where nothing can be answered, nothing is told.
  if (answers.length === 0) return 0
  const timesTrue = new Array<number>(cases).fill(0)
  for (const answer of answers) for (const index of answer) timesTrue[index] += 1
  const all = weigh(
    Array.from({ length: cases }, (_, index) => index),
    () => 1,
    groupOf,
  )
  return answers.reduce((bits, answer) => {
    const weights = weigh(answer, index => 1 / timesTrue[index], groupOf)
    const share = weights.reduce((sum, w) => sum + w, 0) / cases
    return bits - share * entropyBits(weights)
  }, entropyBits(all))
}

/** The weight of each group among these cases. */
function weigh(
  indices: readonly number[],
  weightOf: (index: number) => number,
  groupOf: (index: number) => string,
): number[] {
  const weights = new Map<string, number>()
  for (const index of indices) {
    const group = groupOf(index)
    weights.set(group, (weights.get(group) ?? 0) + weightOf(index))
  }
  return [...weights.values()]
}
