import type { Problem } from './problem.ts'

/**
 * Where in a JSON text (RFC 8259) a field stands, so that whoever mends a file by hand is told the line as well as the
 * name. Only texts that JSON.parse has taken are walked; on anything else no line is said.
 */

/** The path of a field as problems name it: `units.receivers[2].firmware`; empty for the whole. */
export const fieldPath = (path: readonly PropertyKey[]): string =>
  path.reduce<string>((text, part) => stepInto(text, part), '')

const stepInto = (outer: string, part: PropertyKey): string => {
  if (typeof part === 'number') return `${outer}[${part}]`
  return outer === '' ? String(part) : `${outer}.${String(part)}`
}

/** `outer` itself, then what holds it, and so on: a field that is missing is looked for where it should have been. */
function* andWhatHoldsIt(field: string): Generator<string> {
  for (let rest = field; rest !== ''; rest = rest.slice(0, lastStep(rest))) yield rest
  yield ''
}

/** Where the last step of a path begins; names may hold anything, so that it may be one step too few. */
const lastStep = (path: string): number => Math.max(0, path.lastIndexOf('.'), path.lastIndexOf('['))

/**
 * Adds the line to each problem that names a field and no line yet. Of a field that is not there, the line where what
 * should hold it begins.
 * @param text JSON that JSON.parse takes; where it does not, the problems come back as they are
 */
export function withLines(problems: readonly Problem[], text: string): Problem[] {
  const wanted = new Set<string>()
  for (const { field, line } of problems)
    if (field !== undefined && line === undefined) for (const one of andWhatHoldsIt(field)) wanted.add(one)
  if (wanted.size === 0) return [...problems]
  const lines = linesOf(text, wanted)
  return problems.map(problem => {
    const { field, line } = problem
    if (field === undefined || line !== undefined) return problem
    for (const one of andWhatHoldsIt(field)) {
      const found = lines.get(one)
      if (found !== undefined) return { ...problem, line: found }
    }
    return problem
  })
}

/** A mark of JSON, or all of a plain value; what lies between is space. Strings are followed to their end by hand. */
const TOKEN = /[{}[\],:"]|[^\s{}[\],:"]+/g

/** Where the string that begins at `at` has its closing quote. A pattern would overflow the stack on long ones. */
function endOfString(text: string, at: number): number {
  for (let end = text.indexOf('"', at + 1); end >= 0; end = text.indexOf('"', end + 1)) {
    let slashes = 0
    while (text[end - 1 - slashes] === '\\') slashes++
    if (slashes % 2 === 0) return end
  }
  return text.length
}

function* tokens(text: string): Generator<{ readonly token: string; readonly at: number }> {
  const pattern = new RegExp(TOKEN)
  for (let found = pattern.exec(text); found; found = pattern.exec(text)) {
    const at = found.index
    if (found[0] !== '"') yield { token: found[0], at }
    else {
      pattern.lastIndex = endOfString(text, at) + 1
      yield { token: text.slice(at, pattern.lastIndex), at }
    }
  }
}

interface Open {
  /** Undefined where nothing in it is wanted, so that deep nesting costs no long paths. */
  readonly path: string | undefined
  /** The next index of an array; undefined in an object. */
  index: number | undefined
  /** The key of the value that comes next. */
  key: string | undefined
}

/** Lines are 1-based; of two fields of one name, the last counts, as it does for JSON.parse. */
function linesOf(text: string, wanted: ReadonlySet<string>): ReadonlyMap<string, number> {
  const lines = new Map<string, number>()
  const open: Open[] = []
  const line = lineCounter(text)
  for (const { token, at } of tokens(text)) {
    const inner = open.at(-1)
    if (token === '}' || token === ']') open.pop()
    else if (token === ',') {
      if (inner?.index !== undefined) inner.index++
      else if (inner) inner.key = undefined
    } else if (token !== ':') {
      if (inner && inner.index === undefined && inner.key === undefined) inner.key = keyOf(token)
      else {
        const path = pathOfNext(inner)
        const isWanted = path !== undefined && wanted.has(path)
        if (isWanted) lines.set(path, line(at))
        if (token === '{' || token === '[')
          open.push({
            path: isWanted ? path : undefined,
            index: token === '[' ? 0 : undefined,
            key: undefined,
          })
      }
    }
  }
  return lines
}

function pathOfNext(inner: Open | undefined): string | undefined {
  if (inner === undefined) return ''
  return inner.path === undefined ? undefined : stepInto(inner.path, inner.index ?? inner.key ?? '')
}

function keyOf(token: string): string {
  try {
    return String(JSON.parse(token))
  } catch {
    return ''
  }
}

/** Counts on from where it was asked last; places are asked in their order. */
function lineCounter(text: string): (at: number) => number {
  let [line, next] = [1, text.indexOf('\n')]
  return at => {
    while (next >= 0 && next < at) {
      line++
      next = text.indexOf('\n', next + 1)
    }
    return line
  }
}
