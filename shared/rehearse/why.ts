import type { Outcome } from '../procedure/effects.ts'
import type { UpdateResult } from '../procedure/update.ts'
import type { SessionEnd } from '../sim/session.ts'

/** Why it came so, from what happened: the faults that took effect, who refused, and where the attempts ended. */
export function whyItEndedSo(outcome: Outcome, end: SessionEnd<UpdateResult>): string {
  const { events } = end.trace
  const happened = unique(events.flatMap(({ event }) => (event.kind === 'fault' ? [event.text] : [])))
  const refused = unique(
    events.flatMap(({ event }) =>
      event.kind === 'refused' ? [`The ${event.by} refused: ${event.text}`] : [],
    ),
  )
  const failures = unique(
    events.flatMap(({ event }) => (event.kind === 'attempt-failed' ? [event.text] : [])),
  )
  const retries = end.result?.retries ?? 0
  if (outcome === 'updated' && failures.length === 0)
    return retries === 0
      ? 'Every request was answered the first time, the receiver checked what it holds, and it restarted into the new image.'
      : `The update went through; ${retries} ${retries === 1 ? 'request was' : 'requests were'} asked again on the way.`
  if (outcome === 'updated' && end.result?.ended === 'done')
    return [...happened, `The first attempt failed: ${failures[0]}`, 'The second attempt went through.'].join(
      ' ',
    )
  if (outcome === 'updated')
    return [
      ...happened,
      'The receiver had checked the new image and made it valid before contact was lost.',
    ].join(' ')
  const ending =
    outcome === 'unchanged'
      ? 'Nothing of the old image had been touched.'
      : outcome === 'needs-cable'
        ? 'The old image was erased already and the new one is not whole, so the boot loader starts neither.'
        : outcome === 'needs-boot-rom'
          ? 'The boot loader itself was being replaced at that moment.'
          : 'No procedure brings it back.'
  const causes = refused.length > 0 ? refused : failures.slice(-1)
  return [...happened, ...causes, ending].join(' ')
}

const unique = (texts: readonly string[]): string[] => [...new Set(texts)].slice(0, 4)
