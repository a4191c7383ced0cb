import type { Effect, EffectResult, Procedure, StoreRequest } from '../../shared/procedure/effects.ts'

/** Thrown into a procedure that a person has stopped. */
export class StagingCancelled extends Error {
  constructor() {
    super('Stopped on request.')
    this.name = 'StagingCancelled'
  }
}

export interface Asked {
  ask(request: StoreRequest): Promise<EffectResult>
}

export interface Watching {
  readonly signal?: AbortSignal
  /** Octets written and read back so far. */
  readonly onProgress?: (done: number, total: number) => void
  /** Before each thing that is asked of the volume. */
  readonly onStore?: (request: StoreRequest) => void
}

/**
 * Carries a procedure that only stores and says out on a real volume. Stopped or failed, the procedure still gets to
 * clean up after itself.
 * @throws what the procedure throws; StagingCancelled after the signal; an error of the volume that is no answer
 */
export async function carryOut<R>(
  procedure: Procedure<R>,
  volume: Asked,
  { signal, onProgress, onStore }: Watching = {},
): Promise<R> {
  let step = procedure.next({ got: 'done' })
  let stoppable = true
  while (!step.done) {
    const effect = step.value
    if (stoppable && signal?.aborted) {
      stoppable = false
      step = procedure.throw(new StagingCancelled())
      continue
    }
    // Once a file has got its name, those that belong to it have to follow.
    if (effect.do === 'store' && effect.request.op === 'rename') stoppable = false
    if (effect.do === 'store') onStore?.(effect.request)
    let result: EffectResult
    try {
      result = await answer(effect, volume, onProgress)
    } catch (error) {
      step = procedure.throw(error)
      stoppable = false
      continue
    }
    step = procedure.next(result)
  }
  return step.value
}

async function answer(
  effect: Effect,
  volume: Asked,
  onProgress: ((done: number, total: number) => void) | undefined,
): Promise<EffectResult> {
  if (effect.do === 'store') return volume.ask(effect.request)
  if (effect.do !== 'say') throw new Error(`a volume cannot ${effect.do}`)
  if (effect.event.kind === 'progress') onProgress?.(effect.event.done, effect.event.total)
  return { got: 'done' }
}
