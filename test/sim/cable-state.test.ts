import { describe, expect, it } from 'vitest'
import { cableStateOf } from '../../shared/sim/cable-state.ts'
import type { CableWire } from '../../shared/sim/trace.ts'
import { smallBench } from '../support/small-bench.ts'

const [sound] = smallBench().cables
const joins = (...wires: readonly CableWire[]) => ({ ...sound, wires: [...wires] })
const straight = (role: CableWire['from']): CableWire => ({ from: role, to: role })
const [S, P, N] = (['signal', 'positive', 'negative'] as const).map(straight)
const crossed = [S, { from: 'positive', to: 'negative' }, { from: 'negative', to: 'positive' }] as const

describe('the update cable as it lies there', () => {
  it.each([
    ['sound', joins(S, P, N), 'sound', 'connected', true, [S, P, N]],
    ['its signal wire broken', joins(P, N), 'sound', 'signal wire open', false, [P, N]],
    ['its ground broken', joins(S, P), 'sound', 'negative wire open', false, [S, P]],
    ['its positive broken', joins(S, N), 'sound', 'positive wire open', true, [S, N]],
    ['its supply crossed', joins(...crossed), 'sound', 'supply reversed', false, [...crossed]],
    ['all broken', joins(), 'sound', 'no signal through it', false, []],
    ['none', undefined, 'sound', 'no signal through it', false, []],
    // The supply may still come through, and the wire is not broken.
    [
      'on another port',
      joins(S, P, N),
      'open',
      'no signal gets into it',
      false,
      [{ ...S, isOff: true }, P, N],
    ],
    ['on another port, and broken', joins(P, N), 'open', 'no signal gets into it', false, [P, N]],
    ['at a port that is deaf', joins(S, P, N), 'deaf', 'no answer is heard', true, [S, P, N]],
  ] as const)('%s: the wires that are not broken stay', (_, cable, nearEnd, state, isWhole, wires) => {
    const is = cableStateOf(cable, nearEnd, 'through-cable')
    expect(is).toEqual({ isWhole, state, alive: state === 'connected', wires })
  })

  it('misses no positive wire where nothing is fed through it', () => {
    expect(cableStateOf(joins(S, N), 'sound', 'own-supply')).toMatchObject({
      state: 'connected',
      alive: true,
    })
  })
})
