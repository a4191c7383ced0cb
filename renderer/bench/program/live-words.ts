import { isLive, type WriteSnapshot } from './desk.ts'

/** More receivers than these make the band a text that nobody reads. */
const MOST_NAMED = 2

/** What is written right now, for the band at the top of the window; undefined where nothing is. */
export function writingWords({
  lanes,
  batch,
}: Pick<WriteSnapshot, 'lanes'> & Partial<Pick<WriteSnapshot, 'batch'>>): string | undefined {
  const live = lanes.filter(isLive)
  const each = live.map(({ receiver, port }) => `${receiver?.nickname ?? 'a receiver'} through ${port.label}`)
  // With many at once the ports are what nobody may touch; their cards have the receivers.
  const written =
    live.length <= MOST_NAMED
      ? each.join(', ')
      : `${live.length} receivers through ${live.map(({ port }) => port.label).join(', ')}`
  // Between two receivers nothing is written, but the next one that is plugged in is.
  const waits = batch?.running ? batch.ports.filter(port => port.lane === null).map(port => port.label) : []
  const all = [
    ...(live.length > 0 ? [`writing to ${written}`] : []),
    ...(waits.length > 0 ? [`a batch writes to what is plugged in at ${waits.join(', ')}`] : []),
  ]
  return all.length > 0 ? all.join('; ') : undefined
}
