import type { Serve } from '../../shared/api/serve.ts'
import { demoBench } from '../../shared/demo/bench.ts'
import type { RehearsalRequest } from '../../shared/rehearse/report.ts'
import type { Simulate } from './simulate.ts'

/**
 * A worker that is started cold takes a second or more to load, and its first rehearsal takes several times as long as
 * later ones. So one is started when nobody wants anything, and rehearses something of the demo that nobody sees.
 */

/** A first screen asks for one thing after another; what it needs the processor for is over by then. Own estimate. */
const QUIET_MS = 1000

const warmUp = (): RehearsalRequest => ({
  bench: demoBench(),
  receiverId: 'wren-trainer',
  image: { kind: 'bench', imageId: 'wren-6-2.4.0' },
  route: 'cable',
  seed: 1,
  faults: [],
  dropOutside: false,
})

export interface Warmable {
  readonly simulate: Simulate
  /** Starts the worker and lets it rehearse; nothing where somebody has asked for something already. Never rejects. */
  readonly warm: () => Promise<void>
}

/** Whoever asks for something does not wait for the warming up: that is broken off. */
export function warmable(simulate: Simulate): Warmable {
  const abort = new AbortController()
  return {
    simulate: (kind, ask, during) => {
      abort.abort()
      return simulate(kind, ask, during)
    },
    warm: async () => {
      if (!abort.signal.aborted) await simulate('rehearse', warmUp(), { signal: abort.signal })
    },
  }
}

export type Wait = (ms: number, then: () => void) => { readonly stop: () => void }

const wait: Wait = (ms, then) => {
  const timer = setTimeout(then, ms)
  timer.unref()
  return { stop: () => clearTimeout(timer) }
}

/**
 * Serves as `serve` does, and acts once: when a window has asked for something and been answered, and nothing more was
 * asked for a while.
 */
export function whenQuiet(serve: Serve, act: () => void, waitFor: Wait = wait): Serve {
  let underWay = 0
  let hasActed = false
  let waiting: ReturnType<Wait> | undefined
  const settle = () => {
    underWay--
    if (underWay > 0 || hasActed) return
    waiting = waitFor(QUIET_MS, () => {
      hasActed = true
      act()
    })
  }
  return async (method, request) => {
    underWay++
    waiting?.stop()
    try {
      return await serve(method, request)
    } finally {
      settle()
    }
  }
}
