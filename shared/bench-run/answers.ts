import type { Effect, EffectResult, Procedure, Series, StoreFailure } from '../procedure/effects.ts'
import { fromBase64, toBase64 } from './base64.ts'

/**
 * The answers that a procedure was given, as texts: what it was told by the line and the store. The same procedure
 * with the same answers does the same, so with these a session can be replayed anywhere.
 */

/** Answers of other effects are always the same. */
const isRecorded = ({ do: what }: Effect): boolean =>
  what === 'receive' || what === 'line' || what === 'store'

/** The answers to a series are told one by one, but for the one that ends it before its time. */
const isUnhoped = ({ do: what }: Effect, { got }: EffectResult): boolean =>
  what === 'series' && got !== 'done'

/** @param heard what had come where it waited in vain */
export function answerText(result: EffectResult, heard?: Uint8Array): string {
  switch (result.got) {
    case 'octets':
      return `=${toBase64(result.octets)}`
    case 'timeout':
      return heard === undefined || heard.length === 0 ? 't' : `t=${toBase64(heard)}`
    case 'number':
      return `n${result.value}`
    case 'failed':
      return `f${result.why}`
    case 'refused':
      return `r${result.rule} ${result.text}`
    case 'done':
      return 'd'
  }
}

/** A recorded answer, and what had been heard where that was not enough for one. */
export interface Recorded {
  readonly result: EffectResult
  readonly heard?: Uint8Array
}

/** @returns undefined for a text that is no answer */
export function answerOf(text: string): Recorded | undefined {
  if (text.startsWith('t=')) {
    const heard = fromBase64(text.slice(2))
    return heard && { result: { got: 'timeout' }, heard }
  }
  const result = resultOf(text)
  return result && { result }
}

function resultOf(text: string): EffectResult | undefined {
  const rest = text.slice(1)
  switch (text[0]) {
    case '=': {
      const octets = fromBase64(rest)
      return octets && { got: 'octets', octets }
    }
    case 't':
      return { got: 'timeout' }
    case 'n':
      return Number.isFinite(Number(rest)) ? { got: 'number', value: Number(rest) } : undefined
    case 'f':
      return { got: 'failed', why: rest as StoreFailure | 'no-line' }
    case 'r':
      return { got: 'refused', rule: rest.split(' ')[0], text: rest.slice(rest.indexOf(' ') + 1) }
    case 'd':
      return { got: 'done' }
    default:
      return undefined
  }
}

/** The same procedure, whose answers are told as they come. */
export function* recorded<R>(procedure: Procedure<R>, onAnswer: (text: string) => void): Procedure<R> {
  let input: EffectResult = { got: 'done' }
  let ended = false
  try {
    for (;;) {
      const step = procedure.next(input)
      if (step.done) {
        ended = true
        return step.value
      }
      const looking = lookingAt(step.value, onAnswer)
      input = yield looking.effect
      if (isRecorded(step.value) || isUnhoped(step.value, input)) onAnswer(answerText(input, looking.heard()))
    }
  } finally {
    // Broken off, the procedure still says good-bye; nobody looks at the answers to that.
    if (!ended) yield* rest(procedure)
  }
}

/** The same effect, and how to find out what was heard while it waited in vain. */
function lookingAt(
  effect: Effect,
  onAnswer: (text: string) => void,
): {
  readonly effect: Effect
  readonly heard: () => Uint8Array | undefined
} {
  if (effect.do !== 'receive' && effect.do !== 'series') return { effect, heard: () => undefined }
  let seen: Uint8Array | undefined
  const until = (got: Uint8Array): number | false => {
    seen = got
    return effect.until(got)
  }
  const heard = () => seen
  if (effect.do === 'receive') return { effect: { ...effect, until }, heard }
  const wentOn: Series['wentOn'] = octets => {
    const event = effect.wentOn(octets)
    if (event !== undefined) onAnswer(answerText({ got: 'octets', octets }))
    seen = undefined
    return event
  }
  return { effect: { ...effect, until, wentOn }, heard }
}

function* rest<R>(procedure: Procedure<R>): Generator<Effect, void, EffectResult> {
  let step = procedure.return(undefined as R)
  while (!step.done) step = procedure.next(yield step.value)
}

export interface Replayed<R> {
  readonly result: R | undefined
  /** How many answers were taken. */
  readonly taken: number
  /** It asked for more than was recorded, as where a session was cut. */
  readonly ranOut: boolean
}

/** Carries a procedure on with recorded answers, without a line. @param onEffect told of each effect in order */
export function withAnswers<R>(
  procedure: Procedure<R>,
  answers: readonly Recorded[],
  onEffect: (effect: Effect) => void,
): Replayed<R> {
  let taken = 0
  let input: EffectResult = { got: 'done' }
  for (;;) {
    const step = procedure.next(input)
    if (step.done) return { result: step.value, taken, ranOut: false }
    if (step.value.do === 'series') throw new Error('what is replayed goes one by one, not in series')
    if (!isRecorded(step.value)) {
      onEffect(step.value)
      input = { got: 'done' }
      continue
    }
    if (taken >= answers.length) {
      procedure.return(undefined as R)
      return { result: undefined, taken, ranOut: true }
    }
    onEffect(step.value)
    const { result, heard } = answers[taken++]
    // Looking is part of what the procedure does: it may keep what it saw.
    if (step.value.do === 'receive') {
      if (heard) step.value.until(heard)
      if (result.got === 'octets' && step.value.until(result.octets) === false)
        return { result: undefined, taken, ranOut: false }
    }
    input = result
  }
}
