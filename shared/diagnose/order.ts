/**
 * Places of positive numbers, the largest first. Thousands of sets are put in order after each answer, and a comparing
 * sort would take longest of all; so they are dealt out by exponent and first binary digits, as IEEE 754 lays a number
 * out, and only what falls together is compared.
 * @param values above 0 or 0, none of them NaN
 * @param between decides where two values are the same: negative where the first place goes first
 */
export function descending(
  values: Float64Array,
  between: (place: number, other: number) => number,
): Uint32Array {
  const keys = keysOf(values)
  const most = keys.reduce((high, key) => Math.max(high, key), 0)
  const least = keys.reduce((low, key) => Math.min(low, key), most)
  const ends = new Uint32Array(most - least + 2)
  for (let i = 0; i < keys.length; i++) ends[most - keys[i] + 1]++
  for (let key = 1; key < ends.length; key++) ends[key] += ends[key - 1]
  const order = new Uint32Array(values.length)
  const next = ends.slice()
  for (let i = 0; i < keys.length; i++) order[next[most - keys[i]]++] = i
  const compare = (a: number, b: number) => values[b] - values[a] || between(a, b)
  for (let key = 0; key + 1 < ends.length; key++)
    if (ends[key + 1] - ends[key] > 1) order.subarray(ends[key], ends[key + 1]).sort(compare)
  return order
}

/** Digits that are looked at before anything is compared. Of two numbers, the larger never has the smaller key. */
const FIRST_DIGITS = 7
const DIGITS_IN_WORD = 20

function keysOf(values: Float64Array): Uint32Array {
  const view = new DataView(new ArrayBuffer(8))
  const keys = new Uint32Array(values.length)
  for (let i = 0; i < keys.length; i++) {
    view.setFloat64(0, values[i])
    keys[i] = view.getUint32(0) >>> (DIGITS_IN_WORD - FIRST_DIGITS)
  }
  return keys
}
