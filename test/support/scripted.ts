import type { Effect, EffectResult, Procedure } from '../../shared/procedure/effects.ts'

/** Runs a procedure against answers written by hand, and keeps what it asked for. */
export function runScripted<R>(
  procedure: Procedure<R>,
  answer: (effect: Effect, index: number) => EffectResult,
): { result: R; effects: Effect[] } {
  const effects: Effect[] = []
  let input: EffectResult = { got: 'done' }
  for (let i = 0; i < 100_000; i++) {
    const step = procedure.next(input)
    if (step.done) return { result: step.value, effects }
    effects.push(step.value)
    input = answer(step.value, i)
  }
  throw new Error('the procedure did not end')
}
