/**
 * Where a text stops being JSON (RFC 8259). JSON.parse knows, but engines differ in whether they say so, and people
 * who mend a file by hand need the line.
 */

/** Sticky, so that long texts are scanned without copying. */
const SPACE = /[ \t\r\n]*/y
const PLAIN = /-?(?:0|[1-9]\d*)(?:\.\d+)?(?:[eE][+-]?\d+)?|true|false|null/y

const ESCAPE = /\\(?:["\\/bfnrt]|u[0-9a-fA-F]{4})/y

/** What may come next. */
type Wanted = 'value' | 'value-or-end' | 'key' | 'key-or-end' | 'colon' | 'comma-or-end'

/**
 * The 1-based line on which `text` stops being JSON, or undefined where it is JSON. A text that ends too early is
 * wrong on its last line that has anything on it.
 */
export function lineOfJsonError(text: string): number | undefined {
  const at = firstError(text)
  if (at === undefined) return undefined
  const before = at >= text.length ? text.trimEnd() : text.slice(0, at)
  return before.split('\n').length
}

function firstError(text: string): number | undefined {
  const open: ('{' | '[')[] = []
  let wanted: Wanted = 'value'
  let at = 0
  const take = (part: RegExp): boolean => {
    part.lastIndex = at
    if (!part.test(text)) return false
    at = part.lastIndex
    return true
  }
  const takeString = (): boolean => {
    if (text[at] !== '"') return false
    for (at++; at < text.length && text.charCodeAt(at) >= 0x20; ) {
      if (text[at] === '"') {
        at++
        return true
      }
      if (text[at] !== '\\') at++
      else if (!take(ESCAPE)) return false
    }
    return false
  }
  const afterValue = (): Wanted => (open.length > 0 ? 'comma-or-end' : 'value')
  for (;;) {
    take(SPACE)
    const sign = text[at]
    const inObject = open.at(-1) === '{'
    if (wanted.endsWith('or-end') && open.length > 0 && sign === (inObject ? '}' : ']')) {
      at++
      open.pop()
      wanted = afterValue()
    } else if (wanted === 'comma-or-end') {
      if (sign !== ',') return at
      at++
      wanted = inObject ? 'key' : 'value'
      continue
    } else if (wanted === 'colon') {
      if (sign !== ':') return at
      at++
      wanted = 'value'
      continue
    } else if (wanted === 'key' || wanted === 'key-or-end') {
      if (!takeString()) return at
      wanted = 'colon'
      continue
    } else if (sign === '{' || sign === '[') {
      at++
      open.push(sign)
      wanted = sign === '{' ? 'key-or-end' : 'value-or-end'
      continue
    } else {
      if (!takeString() && !take(PLAIN)) return at
      wanted = afterValue()
    }
    if (open.length === 0) {
      take(SPACE)
      return at === text.length ? undefined : at
    }
  }
}
