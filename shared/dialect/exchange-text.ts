import { failed, type Problem, type Result, succeeded } from '../model/problem.ts'
import { octetsOfHex } from './hex.ts'

/** A recorded or typed exchange: which octets went to the receiver and which came from it, in order. */
export interface Turn {
  readonly to: 'receiver' | 'workbench'
  readonly octets: Uint8Array
  /** 1-based line of the text. */
  readonly line: number
}

export const MOST_EXCHANGE_CHARACTERS = 1_000_000
const MOST_PROBLEMS = 20
const ARROWS = /(→|->|>|←|<-|<)/

/**
 * `→ 7F   ← 79`, `> 31 CE`, `< 79`: an arrow and octets in hexadecimal, as often as wanted on a line; what follows `#`
 * on a line is passed over, and a line of octets alone goes on with the turn before it.
 * @returns the turns, or problems `exchange.too-large`, `exchange.line`, `exchange.empty` that name the line
 */
export function readExchange(text: string, file?: string): Result<Turn[]> {
  if (text.length > MOST_EXCHANGE_CHARACTERS)
    return failed({
      code: 'exchange.too-large',
      file,
      message: 'The exchange is too long.',
      expected: `at most ${MOST_EXCHANGE_CHARACTERS} characters`,
    })
  const turns: Turn[] = []
  const problems: Problem[] = []
  text.split(/\r?\n/).forEach((whole, i) => readLine(whole.split('#')[0], i + 1, turns, problems, file))
  if (problems.length > 0) return failed(...problems.slice(0, MOST_PROBLEMS))
  if (turns.length > 0) return succeeded(turns)
  return failed({
    code: 'exchange.empty',
    file,
    message: 'There is no exchange here.',
    expected: 'lines such as → 7F and ← 79',
  })
}

function readLine(
  text: string,
  line: number,
  turns: Turn[],
  problems: Problem[],
  file: string | undefined,
): void {
  const [first, ...rest] = text.split(ARROWS)
  const wrong = (what: string): void => {
    problems.push({
      code: 'exchange.line',
      file,
      line,
      message: `"${what.trim().slice(0, 40)}" is not understood.`,
      expected: 'an arrow (→ or >, ← or <) and octets in hexadecimal, such as → 31 CE',
    })
  }
  const more = octetsIn(first)
  const last = turns.at(-1)
  if (more === undefined || (more.length > 0 && last === undefined)) return wrong(first)
  if (more.length > 0 && last !== undefined)
    turns[turns.length - 1] = { ...last, octets: Uint8Array.of(...last.octets, ...more) }
  for (let i = 0; i < rest.length; i += 2) {
    const octets = octetsIn(rest[i + 1])
    if (octets === undefined || octets.length === 0) return wrong(rest[i] + rest[i + 1])
    turns.push({ to: /→|->|^>$/.test(rest[i]) ? 'receiver' : 'workbench', octets, line })
  }
}

function octetsIn(text: string): Uint8Array | undefined {
  const digits = text.replace(/[\s,]+/g, ' ').trim()
  return /^(?:(?:[0-9A-Fa-f]{2} ?)*)$/.test(digits) ? octetsOfHex(digits) : undefined
}
