import type { DialectDevice } from '../../shared/dialect/device.ts'
import type { Effect, EffectResult, Procedure, SessionEvent } from '../../shared/procedure/effects.ts'

/** Carries a procedure on against an emulated receiver: a loop, a clock that is a number, nothing else. */
export interface Played<R> {
  readonly result: R
  readonly events: readonly SessionEvent[]
  readonly sent: readonly Uint8Array[]
  readonly said: readonly Uint8Array[]
  readonly endMs: number
  readonly effects: number
}

const OCTET_NS = 86_806
const MOST_EFFECTS = 300_000

/**
 * @param change what becomes of octets on their way
 * @param before called before each effect; returns true to break the procedure off there
 */
export function playWith<R>(
  procedure: Procedure<R>,
  device: DialectDevice,
  change: (octets: Uint8Array, toDevice: boolean) => Uint8Array = octets => octets,
  before: (effect: Effect, index: number) => boolean = () => false,
): Played<R> {
  let nowNs = 0
  let waiting = new Uint8Array(0)
  const events: SessionEvent[] = []
  const sent: Uint8Array[] = []
  const said: Uint8Array[] = []
  const listen = (untilNs: number): boolean => {
    const due = device.due()
    if (due === undefined || due > untilNs) return false
    nowNs = Math.max(nowNs, due)
    const octets = device.answer(nowNs)
    if (octets === undefined) return true
    said.push(octets)
    nowNs += octets.length * OCTET_NS
    waiting = joined(waiting, change(octets, false))
    return true
  }
  const answer = (effect: Effect): EffectResult => {
    if (effect.do === 'say') events.push(effect.event)
    if (effect.do === 'send') {
      sent.push(effect.octets)
      nowNs += effect.octets.length * OCTET_NS
      device.hear(change(effect.octets, true), nowNs)
    }
    if (effect.do === 'wait') {
      const untilNs = nowNs + effect.ms * 1e6
      while (listen(untilNs));
      nowNs = Math.max(nowNs, untilNs)
    }
    if (effect.do === 'store') return { got: 'failed', why: 'absent' }
    if (effect.do !== 'receive') return { got: 'done' }
    const untilNs = nowNs + effect.timeoutMs * 1e6
    for (;;) {
      const taken = waiting.length > 0 && effect.until(waiting)
      if (taken !== false) {
        const octets = waiting.slice(0, taken)
        waiting = waiting.slice(taken)
        return { got: 'octets', octets }
      }
      if (!listen(untilNs)) break
    }
    nowNs = Math.max(nowNs, untilNs)
    return { got: 'timeout' }
  }
  let step = procedure.next()
  let broken = false
  for (let effects = 0; effects < MOST_EFFECTS; effects++) {
    if (step.done) return { result: step.value, events, sent, said, endMs: nowNs / 1e6, effects }
    if (!broken && before(step.value, effects)) {
      broken = true
      step = procedure.return(undefined as R)
      continue
    }
    step = procedure.next(answer(step.value))
  }
  throw new Error('the procedure does not come to an end')
}

function joined(a: Uint8Array, b: Uint8Array): Uint8Array<ArrayBuffer> {
  const all = new Uint8Array(a.length + b.length)
  all.set(a)
  all.set(b, a.length)
  return all
}
