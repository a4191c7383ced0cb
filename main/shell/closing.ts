import type { AppContract } from '../../shared/api/contract.ts'
import type { Handlers } from '../../shared/api/define.ts'

/** A window that is closed while a receiver is being written: it stays, unless the person breaks the write off. */

type Writing = Pick<Handlers<AppContract>, 'write.lanes' | 'write.cancel' | 'write.batchStop'>

const LOOK_MS = 100
/** Nothing that is cancelled takes longer; what does is left to the logbook, as after a crash. */
const MOST_LOOKS = 150

const liveLanes = async (handlers: Writing) =>
  (await handlers['write.lanes']({})).lanes.filter(lane => lane.end === null)

/**
 * @param ask shown the ports that are live; true breaks the writes off
 * @returns whether the window may close: nothing is written any more
 */
export async function mayClose(
  handlers: Writing,
  ask: (ports: readonly string[]) => Promise<boolean>,
  wait: (ms: number) => Promise<void> = ms => new Promise(resolve => setTimeout(resolve, ms)),
): Promise<boolean> {
  const live = await liveLanes(handlers)
  if (live.length === 0) return true
  if (!(await ask(live.map(lane => lane.port.label)))) return (await liveLanes(handlers)).length === 0
  await handlers['write.batchStop']({})
  for (const { lane } of await liveLanes(handlers)) await handlers['write.cancel']({ lane })
  for (let i = 0; i < MOST_LOOKS && (await liveLanes(handlers)).length > 0; i++) await wait(LOOK_MS)
  return true
}

export const CLOSING_WORDS = {
  buttons: ['Keep writing', 'Break it off and close'],
  detail:
    'Broken off, the receiver may hold no whole image. What it holds, and how it is brought back, is told at the next start.',
} as const
