import { numberOf } from './context.ts'
import { type AnswerTools, answerOf } from './device-answer.ts'
import type { Framer } from './frames.ts'
import { octetsOfHex } from './hex.ts'
import type { Dialect } from './schema.ts'
import type { ExpectStep, Meaning, Step, WhenStep } from './schema-steps.ts'

/** What an emulated receiver has to say, and when: answers, and what it says again and again until it is heard. */

const MS = 1_000_000

export class Voice {
  /** What it has said for captures, by name. */
  readonly captures = new Map<string, Uint8Array>()
  private readonly dialect: Dialect
  private readonly framer: Framer | undefined
  private readonly tools: () => Omit<AnswerTools, 'captured'>
  private readonly outbox: { readonly atNs: number; readonly octets: Uint8Array }[] = []
  private unasked: { readonly step: ExpectStep; readonly everyNs: number; nextNs: number } | undefined

  /** @param tools asked anew for each answer: what it knows changes */
  constructor(dialect: Dialect, framer: Framer | undefined, tools: () => Omit<AnswerTools, 'captured'>) {
    this.dialect = dialect
    this.framer = framer
    this.tools = tools
  }

  say(step: ExpectStep, means: Meaning, atNs: number): void {
    const captured = (name: string, octets: Uint8Array) => this.captures.set(name, octets)
    const octets = answerOf(step, means, { ...this.tools(), captured })
    if (octets !== undefined) this.queue(this.framer && !step.bare ? this.framer.wrap(octets) : octets, atNs)
  }

  /** Says yes at each of these, and goes on saying what is said unasked. */
  sayAll(steps: readonly ExpectStep[], atNs: number): void {
    for (const step of steps) {
      this.say(step, 'ok', atNs)
      if (step.unaskedEvery === undefined) continue
      const { unaskedEvery: every } = step
      const ms = typeof every === 'number' ? every : this.dialect.timings[every].ms
      const everyNs = Math.max(1, ms) * MS
      this.unasked = { step, everyNs, nextNs: atNs + everyNs }
    }
  }

  queue(octets: Uint8Array, atNs: number): void {
    this.outbox.push({ atNs, octets })
    this.outbox.sort((a, b) => a.atNs - b.atNs)
  }

  /** Somebody has understood what it said unasked. */
  wasHeard(): void {
    this.unasked = undefined
  }

  silence(): void {
    this.outbox.length = 0
    this.unasked = undefined
  }

  dueNs(): number | undefined {
    const first = this.outbox[0]?.atNs
    const next = this.unasked?.nextNs
    return first === undefined || next === undefined ? (first ?? next) : Math.min(first, next)
  }

  /** @returns what is said by now, one thing at a time */
  next(nowNs: number): Uint8Array | undefined {
    if (this.unasked !== undefined && this.unasked.nextNs <= nowNs) {
      this.say(this.unasked.step, 'ok', nowNs)
      this.unasked.nextNs = nowNs + this.unasked.everyNs
    }
    if (this.outbox.length === 0 || this.outbox[0].atNs > nowNs) return undefined
    return this.outbox.shift()?.octets
  }

  captured(name: string): number | undefined {
    const octets = this.captures.get(name)
    return octets && numberOf(octets.subarray(-4))
  }

  /** Whether a `when` holds, by what it has said; what it has not said does not. */
  holds(when: WhenStep): boolean | undefined {
    if (!when.of.startsWith('capture:')) return undefined
    const name = when.of.slice('capture:'.length)
    const octets = this.captures.get(name)
    if (octets === undefined) return false
    if (when.is !== undefined) return this.captured(name) === when.is
    return when.has !== undefined && octets.includes(when.has)
  }
}

/** What it says for captures when it is to be taken for another type: its type field, one bit off. */
export function otherIdentity(
  dialect: Dialect,
  says: Readonly<Record<string, Uint8Array>>,
): Readonly<Record<string, Uint8Array>> {
  const field = dialect.identify?.fields.find(({ role }) => role === 'type')
  if (field === undefined) return says
  const usual = says[field.name] ?? exampleOf(dialect, field.name)
  if (usual === undefined) return says
  return { ...says, [field.name]: usual.map((octet, i) => (i === usual.length - 1 ? octet ^ 0x01 : octet)) }
}

function exampleOf(dialect: Dialect, name: string): Uint8Array | undefined {
  const steps: readonly Step[] = dialect.identify?.steps ?? []
  const expects = steps.flatMap(step => (step.do === 'request' ? step.steps : [step]))
  for (const step of expects)
    for (const part of step.do === 'expect' ? step.parts : [])
      if (part.part === 'capture' && part.name === name && typeof part.says === 'string')
        return part.says === 'inBootLoader' ? undefined : octetsOfHex(part.says)
  return undefined
}
