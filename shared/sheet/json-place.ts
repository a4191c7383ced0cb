/** Where a value stands in a JSON text (RFC 8259), so that a complaint about it can name the line. */

const TOKEN = /"(?:[^"\\]|\\.)*"|[{}[\],:]|[^\s{}[\],:"]+/gy
const SPACE = /\s*/y

interface Level {
  readonly isList: boolean
  index: number
  key: string | undefined
  /** A key comes next, not a value. */
  wantsKey: boolean
}

/**
 * The 1-based line on which the value at `path` begins; of a value that is missing, the line of the group in which it
 * is missing. Of a key that is there twice, the last counts, as in JSON.parse.
 * @param text valid JSON; of anything else the line means nothing
 */
export function lineNearPath(text: string, path: readonly PropertyKey[]): number {
  const wanted = path.map(String)
  const open: Level[] = []
  /** Where the value at each beginning of the path stands. */
  const found: number[] = []
  const isThere = () =>
    open.length <= wanted.length &&
    open.every((level, i) => (level.isList ? String(level.index) : level.key) === wanted[i])
  let at = 0
  for (;;) {
    SPACE.lastIndex = at
    SPACE.test(text)
    TOKEN.lastIndex = SPACE.lastIndex
    const token = TOKEN.exec(text)?.[0]
    if (token === undefined) break
    const level = open.at(-1)
    if (level?.wantsKey && token.startsWith('"')) {
      level.key = parsed(token)
      level.wantsKey = false
    } else if (token === '}' || token === ']') open.pop()
    else if (token === ',') {
      if (level?.isList) level.index += 1
      else if (level) level.wantsKey = true
    } else if (token !== ':') {
      if (isThere()) {
        found.length = open.length
        found.push(SPACE.lastIndex)
      }
      if (token === '{' || token === '[') {
        const isList = token === '['
        open.push({ isList, index: 0, key: undefined, wantsKey: !isList })
      }
    }
    at = TOKEN.lastIndex
  }
  return lineAt(text, found.at(-1) ?? 0)
}

function parsed(token: string): string {
  try {
    return String(JSON.parse(token))
  } catch {
    return token
  }
}

function lineAt(text: string, offset: number): number {
  let line = 1
  for (let i = text.indexOf('\n'); i >= 0 && i < offset; i = text.indexOf('\n', i + 1)) line += 1
  return line
}
