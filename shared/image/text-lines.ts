/** Lines of a text file that may come from any system. */

const LF = 0x0a
const CR = 0x0d
/** Control-Z: old systems end a text file with it. */
const TEXT_END = 0x1a
const isBlank = (code: number): boolean => code === 0x20 || code === 0x09

/**
 * Character codes of a text as octets, its byte-order mark left out. A code that does not fit becomes FF, which is
 * no character of any record format.
 */
export function characterCodes(text: string): Uint8Array {
  const from = text.charCodeAt(0) === 0xfeff ? 1 : 0
  const codes = new Uint8Array(text.length - from)
  for (let i = 0; i < codes.length; i++) codes[i] = Math.min(text.charCodeAt(from + i), 0xff)
  return codes
}

/**
 * Calls `take` for each line that has anything on it: first and last place (exclusive, line end and trailing blanks
 * left out) and the 1-based line number, until it answers false. Line ends may be CR LF, LF or CR; a byte-order mark
 * is skipped.
 * @returns the number of the last line looked at, 0 for an empty text
 */
export function eachLine(
  text: Uint8Array,
  take: (from: number, to: number, line: number) => boolean,
): number {
  let from = text[0] === 0xef && text[1] === 0xbb && text[2] === 0xbf ? 3 : 0
  let line = 0
  while (from < text.length) {
    let end = from
    while (end < text.length && text[end] !== LF && text[end] !== CR) end++
    line++
    let last = end
    while (last > from && (isBlank(text[last - 1]) || text[last - 1] === TEXT_END)) last--
    if (last > from && !take(from, last, line)) return line
    from = text[end] === CR && text[end + 1] === LF ? end + 2 : end + 1
  }
  return line
}
