import type { Problem, Result } from '../model/problem.ts'
import { failed, succeeded } from '../model/problem.ts'
import { Answer } from './answer.ts'
import { type Check, checksOf } from './checksums.ts'
import { Context } from './context.ts'
import { type Candidate, Flow, type Place } from './device-flow.ts'
import { matchCandidate } from './device-hearing.ts'
import { encoderOf } from './encode.ts'
import {
  type Difference,
  type ExchangeReport,
  otherAnswer,
  otherOctet,
  Places,
  type Recognised,
} from './exchange-report.ts'
import { readExchange, type Turn } from './exchange-text.ts'
import { type Framer, framerFor } from './frames.ts'
import { hexOfOctets } from './hex.ts'
import { type Bound, type Match, NOTHING_BOUND } from './match.ts'
import { sectionsOf } from './names.ts'
import type { Dialect } from './schema.ts'
import type { ExpectStep, WhenStep } from './schema-steps.ts'

/**
 * A dialect held against an exchange that was recorded from a real receiver, or typed from its documentation. What
 * the workbench would say is made from the values that the exchange itself holds, and compared octet for octet; the
 * first difference is named with the step that it comes from.
 */

/** @returns what was recognised up to the first difference, or problems with the text itself */
export function testDialect(dialect: Dialect, text: string, file?: string): Result<ExchangeReport> {
  const turns = readExchange(text, file)
  if (!turns.ok) return failed(...(turns.problems as Problem[]))
  return succeeded(new ExchangeTest(dialect).run(turns.value))
}

/** A context whose numbers are those that the exchange has named. */
class NamedContext extends Context {
  bound: Bound = NOTHING_BOUND
  override number(source: string, check?: Check): number {
    return this.bound.numbers.get(source) ?? super.number(source, check)
  }
}

class ExchangeTest {
  private readonly dialect: Dialect
  private readonly checks: ReadonlyMap<string, Check>
  private readonly framer: Framer | undefined
  private readonly flow: Flow
  private readonly places = new Places()
  private readonly recognised: Recognised[] = []
  private c = new NamedContext()
  private pending: { step: ExpectStep; place: Place | undefined }[] = []
  private lastUnasked: ExpectStep | undefined

  constructor(dialect: Dialect) {
    this.dialect = dialect
    this.checks = checksOf(dialect)
    this.framer = framerFor(dialect, this.checks)
    this.flow = new Flow(dialect, when => this.holds(when), true)
    for (const { path, steps } of sectionsOf(dialect)) this.places.add(steps, path.join('.'))
  }

  run(turns: readonly Turn[]): ExchangeReport {
    this.pending = this.flow.speaksFirst().map(step => ({ step, place: undefined }))
    for (const turn of turns) {
      const difference = turn.to === 'receiver' ? this.sent(turn) : this.came(turn)
      if (difference !== undefined) return { agrees: false, recognised: this.recognised, difference }
    }
    return { agrees: true, recognised: this.recognised, difference: undefined }
  }

  /** What has not been seen yet may be one way or the other. */
  private holds(when: WhenStep): boolean | undefined {
    const captured = when.of.startsWith('capture:') ? this.c.captures.get(when.of.slice(8)) : undefined
    if (captured === undefined) return undefined
    if (when.is !== undefined) return captured.value === when.is
    return when.has !== undefined && captured.octets.includes(when.has)
  }

  private sent(turn: Turn): Difference | undefined {
    this.lastUnasked = undefined
    for (let from = 0; from < turn.octets.length; ) {
      const rest = turn.octets.subarray(from)
      const best = this.bestOf(rest)
      if (best.end === undefined) return this.differs(turn, from + best.at, best.wanted, best.candidate)
      const again = this.saidAgain(best.candidate, best.bound)
      const end = best.end
      const at = again === undefined ? -1 : firstOther(again, rest.subarray(0, end))
      if (again !== undefined && at >= 0)
        return this.differs(turn, from + at, again.subarray(at, at + 1), best.candidate)
      this.take(turn, rest.subarray(0, end), best.candidate, best.bound)
      from += end
    }
    return undefined
  }

  /** The candidate that fits, or the one that fits furthest. */
  private bestOf(octets: Uint8Array): {
    candidate: Candidate | undefined
    end: number | undefined
    at: number
    wanted: Uint8Array | undefined
    bound: Bound
  } {
    let best = {
      candidate: undefined as Candidate | undefined,
      at: -1,
      wanted: undefined as Uint8Array | undefined,
    }
    for (const candidate of this.flow.candidates()) {
      const { match, end } = this.match(candidate, octets)
      if (match.is === 'yes') return { candidate, end, at: 0, wanted: undefined, bound: match.bound }
      const at = this.framer && !candidate.step.bare ? 0 : partsAt(match, octets)
      if (at > best.at) best = { candidate, at, wanted: match.wanted?.subarray(Math.max(0, at - match.at)) }
    }
    return { ...best, at: Math.max(0, best.at), end: undefined, bound: NOTHING_BOUND }
  }

  private match(candidate: Candidate, octets: Uint8Array): { match: Match; end: number } {
    const { dialect, checks, framer, c } = this
    const captured = (name: string) => c.captures.get(name)?.value
    const hearing = { dialect, checks, framer, captured, bound: c.bound }
    if (framer === undefined || candidate.step.bare) {
      const match = matchCandidate(candidate, octets, false, hearing)
      return { match, end: match.is === 'yes' ? match.end : 0 }
    }
    let match: Match = { is: 'no', at: 0, wanted: undefined }
    const end = framer.find(octets, body => {
      match = matchCandidate(candidate, body, true, hearing)
      return match.is === 'yes'
    })
    return { match, end: end === false ? 0 : end }
  }

  /** What the workbench itself would say with these values; undefined where it needs the image for that. */
  private saidAgain(candidate: Candidate | undefined, bound: Bound): Uint8Array | undefined {
    if (candidate === undefined || bound.numbers.has('imageCheck')) return undefined
    const c = new NamedContext(undefined, bound.fileName)
    for (const [name, captured] of this.c.captures) c.captures.set(name, captured)
    c.bound = bound
    c.data = bound.data ?? c.data
    c.pages = bound.pages ?? []
    const { parts, bare } = candidate.step
    const octets = encoderOf(parts, this.checks, Math.max(this.dialect.block.octets, c.data.length))(c)
    return this.framer && !bare ? this.framer.wrap(octets) : octets
  }

  private take(turn: Turn, octets: Uint8Array, candidate: Candidate | undefined, bound: Bound): void {
    if (candidate === undefined) return
    this.c.bound = bound
    this.c.length = bound.numbers.get('length') ?? 0
    const { answers, further } = this.flow.take(candidate)
    this.flow.commit()
    this.pending = [
      ...answers.map(step => ({ step, place: candidate as Place })),
      ...further.map(step => ({ step, place: undefined })),
    ]
    this.recognise(turn, octets, candidate.step, Object.fromEntries(bound.numbers))
  }

  private recognise(turn: Turn, octets: Uint8Array, step: object, values: Record<string, number>): void {
    const { path, what } = this.places.of(step)
    this.recognised.push({ line: turn.line, to: turn.to, hex: hexOfOctets(octets), step: path, what, values })
  }

  private came(turn: Turn): Difference | undefined {
    for (let from = 0; from < turn.octets.length; ) {
      const step = this.pending[0]?.step ?? this.lastUnasked
      if (step === undefined) return this.differs(turn, from)
      const rest = turn.octets.subarray(from)
      const answer = new Answer(step, this.dialect, this.checks, this.framer, this.c)
      answer.begin()
      const taken = answer.until(rest)
      // An answer that is nothing at all is got over once, when it was asked for.
      if (taken === 0 && this.pending.length === 0) return this.differs(turn, from)
      if (taken === false || answer.wrong)
        return otherAnswer(
          turn,
          from + (answer.wrong ? answer.failedAt : rest.length),
          this.places.of(step),
          {
            ...{ step, dialect: this.dialect, wrong: answer.wrong },
          },
        )
      this.recognise(turn, rest.subarray(0, taken), step, this.captured(step))
      this.answered(step, answer)
      from += taken
    }
    return undefined
  }

  private answered(step: ExpectStep, answer: Answer): void {
    const first = this.pending.shift()
    this.lastUnasked = step.unaskedEvery === undefined ? undefined : step
    const means = answer.reply?.means ?? 'ok'
    if (means === 'wait' && first !== undefined) this.pending.unshift(first)
    if (means === 'ok' || means === 'wait') return
    this.pending = []
    if (first?.place !== undefined) this.flow.retry(first.place)
  }

  private captured(step: ExpectStep): Record<string, number> {
    const values: Record<string, number> = {}
    for (const part of step.parts) {
      const value = part.part === 'capture' ? this.c.captures.get(part.name)?.value : undefined
      if (part.part === 'capture' && value !== undefined) values[part.name] = value
    }
    return values
  }

  private differs(turn: Turn, at: number, wanted?: Uint8Array, candidate?: Candidate): Difference {
    return otherOctet(turn, at, wanted, this.places.of(candidate?.step))
  }
}

/** The first octet of the part that did not fit which differs from what is certain to stand there. */
function partsAt(match: Extract<Match, { is: 'no' | 'partly' }>, octets: Uint8Array): number {
  const { at, wanted } = match
  if (match.is === 'partly' && wanted === undefined) return octets.length
  if (wanted === undefined) return at
  for (let i = 0; i < wanted.length; i++) if (octets[at + i] !== wanted[i]) return at + i
  return at + wanted.length
}

/** @returns the first place at which two differ, or -1 */
function firstOther(a: Uint8Array, b: Uint8Array): number {
  for (let i = 0; i < Math.max(a.length, b.length); i++) if (a[i] !== b[i]) return i
  return -1
}
