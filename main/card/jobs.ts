import type { CardProgress, Doing } from '../../shared/api/card.ts'
import { ProblemError } from '../../shared/model/problem.ts'
import type { StoreRequest } from '../../shared/procedure/effects.ts'

/** Stagings that are running: one at a time on a volume, each with the way to stop it. */
export class StagingJobs {
  private readonly running = new Map<string, { readonly root: string; readonly stop: AbortController }>()
  private readonly tell: (places: string[]) => void

  /** @param tell hears of the volumes that are being written, whenever that changes */
  constructor(tell: (places: string[]) => void = () => {}) {
    this.tell = tell
  }

  /**
   * @returns the signal that stops it, and what to call when it has ended
   * @throws ProblemError `stage.busy` where this volume is being written, or this job is running already
   */
  begin(jobId: string, root: string): { readonly signal: AbortSignal; readonly ended: () => void } {
    const onSame = [...this.running.values()].some(job => job.root === root)
    if (onSame || this.running.has(jobId))
      throw new ProblemError({
        code: 'stage.busy',
        file: root,
        message: 'Another image is being put on this card right now.',
        remedy: 'Wait until that is done, and stage again.',
      })
    const stop = new AbortController()
    this.running.set(jobId, { root, stop })
    this.tellAll()
    const ended = () => {
      this.running.delete(jobId)
      this.tellAll()
    }
    return { signal: stop.signal, ended }
  }

  /** @returns whether there was anything to stop */
  cancel(jobId: string): boolean {
    const job = this.running.get(jobId)
    job?.stop.abort()
    return job !== undefined
  }

  private tellAll(): void {
    this.tell([...this.running.values()].map(({ root }) => root))
  }
}

/** The window draws a bar: it need not hear of every block. */
const STEPS_TOLD = 200

/** Puts what a staging does into progress that can be told. */
export function progressTeller(jobId: string, tell: (progress: CardProgress) => void) {
  let doing: Doing | undefined
  let last = { done: 0, total: 0 }
  let named = false
  const say = () => doing !== undefined && tell({ jobId, doing, ...last })
  return {
    onStore: ({ op }: Pick<StoreRequest, 'op'>) => {
      if (op === 'rename') named = true
      const next = doingOf(op, named)
      if (next === undefined || next === doing) return
      doing = next
      say()
    },
    onProgress: (done: number, total: number) => {
      const isWorthIt = done === total || done - last.done >= total / STEPS_TOLD
      if (!isWorthIt) return
      last = { done, total }
      say()
    },
  }
}

function doingOf(op: StoreRequest['op'], named: boolean): Doing | undefined {
  if (op === 'create' || op === 'write') return 'copying'
  if (op === 'flush') return 'flushing'
  if (op === 'rename') return 'naming'
  if (op === 'read') return named ? 'proving' : 'reading-back'
  return undefined
}
