import { lineOfJsonError } from './json-line.ts'

/** JSON from outside (RFC 8259): what no file of ours can be is refused before it is parsed. */

/** Deeper than any file of ours, as messages are bounded too. Millions of brackets cost a parser seconds. */
const MOST_DEPTH = 100

export type ParsedJson =
  | { readonly ok: true; readonly value: unknown }
  | {
      readonly ok: false
      /** 1-based; undefined where it is not known. */
      readonly line: number | undefined
      /** The end of a sentence, after a colon. */
      readonly why: string
    }

/**
 * Parses a text whose size is bounded already, unless lists and objects lie in one another too deeply.
 * @param text at most as many characters as the kind of file may have; without a byte order mark
 */
export function parseJson(text: string): ParsedJson {
  const deepAt = tooDeepAt(text)
  if (deepAt !== undefined) {
    const why = `lists and objects lie more than ${MOST_DEPTH} deep in one another`
    return { ok: false, line: text.slice(0, deepAt).split('\n').length, why }
  }
  try {
    return { ok: true, value: JSON.parse(text) }
  } catch {
    return { ok: false, line: lineOfJsonError(text), why: 'its text is not valid JSON' }
  }
}

const [QUOTE, SLASH, LIST, LIST_END, OBJECT, OBJECT_END] = Array.from('"\\[]{}', c => c.charCodeAt(0))

/** Where the first bracket of one level too many stands. Of a text that is no JSON, this need not make sense. */
function tooDeepAt(text: string): number | undefined {
  let depth = 0
  for (let at = 0; at < text.length; at++) {
    const sign = text.charCodeAt(at)
    if (sign === QUOTE) at = endOfString(text, at)
    else if (sign === LIST || sign === OBJECT) {
      if (++depth > MOST_DEPTH) return at
    } else if (sign === LIST_END || sign === OBJECT_END) depth--
  }
  return undefined
}

function endOfString(text: string, from: number): number {
  for (let end = text.indexOf('"', from + 1); end >= 0; end = text.indexOf('"', end + 1)) {
    let slashes = 0
    while (text.charCodeAt(end - 1 - slashes) === SLASH) slashes++
    if (slashes % 2 === 0) return end
  }
  return text.length
}
