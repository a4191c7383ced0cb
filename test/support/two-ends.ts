import type { EffectResult, Procedure } from '../../shared/procedure/effects.ts'

/**
 * Two procedures at the two ends of a line, in a time that passes only where both wait. Every octet takes its time;
 * nothing else does.
 */
interface End {
  readonly procedure: Procedure<unknown>
  /** What has arrived here, and when. */
  readonly coming: { atMs: number; octets: Uint8Array }[]
  readonly sent: Uint8Array[]
  waiting: Uint8Array
  nowMs: number
  ended: boolean
  result: unknown
  input: EffectResult
  until: ((got: Uint8Array) => number | false) | undefined
  untilMs: number
}

const end = (procedure: Procedure<unknown>): End => ({
  ...{
    procedure,
    coming: [],
    sent: [],
    waiting: new Uint8Array(0),
    nowMs: 0,
    ended: false,
    result: undefined,
  },
  ...{ input: { got: 'done' } as const, until: undefined, untilMs: 0 },
})

export interface TwoEnds<A, B> {
  readonly a: A | undefined
  readonly b: B | undefined
  readonly sentByA: readonly Uint8Array[]
  readonly sentByB: readonly Uint8Array[]
  readonly endMs: number
}

/**
 * @param change what becomes of octets on their way; a shorter or other array is what arrives
 * @throws Error when they do not come to an end in 200,000 effects
 */
export function joinEnds<A, B>(
  a: Procedure<A>,
  b: Procedure<B>,
  change: (octets: Uint8Array, from: 'a' | 'b', index: number) => Uint8Array = octets => octets,
  msPerOctet = 0.0868,
): TwoEnds<A, B> {
  const ends = [end(a), end(b)] as const
  for (let effects = 0; effects < 200_000; effects++) {
    const running = ends.filter(e => !e.ended)
    if (running.length === 0) break
    // Whoever is earliest in time goes on; one that waits for octets goes on at their arrival or its time-out.
    const next = running.reduce((x, y) => (readyMs(x) <= readyMs(y) ? x : y))
    const i = next === ends[0] ? 0 : 1
    carryOn(next, octets => {
      const arrive = change(octets, i === 0 ? 'a' : 'b', next.sent.length)
      next.sent.push(octets)
      next.nowMs += octets.length * msPerOctet
      ends[1 - i].coming.push({ atMs: next.nowMs, octets: arrive })
    })
    if (effects === 199_999) throw new Error('they do not come to an end')
  }
  const [x, y] = ends
  return {
    a: x.result as A | undefined,
    b: y.result as B | undefined,
    sentByA: x.sent,
    sentByB: y.sent,
    endMs: Math.max(x.nowMs, y.nowMs),
  }
}

function readyMs(e: End): number {
  if (e.until === undefined) return e.nowMs
  return Math.min(e.untilMs, e.coming[0]?.atMs ?? Number.POSITIVE_INFINITY)
}

function carryOn(e: End, send: (octets: Uint8Array) => void): void {
  if (e.until !== undefined && !arrive(e)) return
  const step = e.procedure.next(e.input)
  e.input = { got: 'done' }
  if (step.done) {
    e.ended = true
    e.result = step.value
    return
  }
  const effect = step.value
  if (effect.do === 'send') send(effect.octets)
  else if (effect.do === 'wait') e.nowMs += effect.ms
  else if (effect.do === 'receive') {
    e.until = effect.until
    e.untilMs = e.nowMs + effect.timeoutMs
    take(e)
  }
}

/** Takes the next arrival, or the time-out. @returns whether the wait is over */
function arrive(e: End): boolean {
  const first = e.coming[0]
  if (first === undefined || first.atMs > e.untilMs) {
    e.nowMs = e.untilMs
    e.until = undefined
    e.input = { got: 'timeout' }
    return true
  }
  e.nowMs = Math.max(e.nowMs, first.atMs)
  return take(e)
}

function take(e: End): boolean {
  while (e.coming.length > 0 && e.coming[0].atMs <= e.nowMs) {
    const { octets } = e.coming.shift() as { octets: Uint8Array }
    const all = new Uint8Array(e.waiting.length + octets.length)
    all.set(e.waiting)
    all.set(octets, e.waiting.length)
    e.waiting = all
  }
  const taken = e.waiting.length > 0 && e.until !== undefined && e.until(e.waiting)
  if (taken === false) return false
  e.input = { got: 'octets', octets: e.waiting.slice(0, taken) }
  e.waiting = e.waiting.slice(taken)
  e.until = undefined
  return true
}
