import type { Channel } from './client.ts'
import type { Outcome } from './define.ts'

/** What the desktop shell puts into the page: one function for each method, one for each event of the contract. */
export interface Bridge {
  readonly calls: Readonly<Record<string, (request: unknown) => Promise<Outcome>>>
  readonly events: Readonly<Record<string, (listener: (data: unknown) => void) => () => void>>
}

/** The name under which the page finds it. */
export const BRIDGE_NAME = 'preflash'

/** A channel over the bridge. A method that the bridge does not have is answered with the problem `api.method`. */
export function bridgeChannel(bridge: Bridge): Channel {
  return {
    async call(method, request) {
      if (Object.hasOwn(bridge.calls, method)) return bridge.calls[method](request)
      const message = 'The window asked for something this version cannot do.'
      return { ok: false, problems: [{ code: 'api.method', message }] } satisfies Outcome
    },
    listen(listener) {
      const stops = Object.entries(bridge.events).map(([event, on]) => on(data => listener(event, data)))
      return () => {
        for (const stop of stops) stop()
      }
    },
  }
}
