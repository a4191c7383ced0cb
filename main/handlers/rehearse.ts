import type { AppContract } from '../../shared/api/contract.ts'
import type { Handlers } from '../../shared/api/define.ts'
import type { rehearseMethods } from '../../shared/api/rehearse.ts'
import { type Events, need } from '../../shared/api/serve.ts'
import { writeImageCard } from '../../shared/image/image-card.ts'
import type { ImageChoice } from '../../shared/rehearse/report.ts'
import type { Library } from '../store/library.ts'
import type { During, Simulate } from '../work/simulate.ts'

/**
 * `rehearse.…`: a rehearsal is computed at once and whole; the window plays it back. One with a `runId` tells how far it
 * is, and can be cancelled.
 */
export function rehearseHandlers(
  library: Library,
  simulate: Simulate,
  events: Events<AppContract>,
): Pick<Handlers<AppContract>, keyof typeof rehearseMethods> {
  const underWay = new Map<string, AbortController>()
  return {
    'rehearse.run': async ({ runId, ...request }) => {
      // Known before anything is waited for, so that it can be cancelled from then on.
      const abort = new AbortController()
      if (runId !== undefined) underWay.set(runId, abort)
      const during: During = {
        signal: abort.signal,
        onMoment: moment => {
          if (runId !== undefined && !abort.signal.aborted)
            events.emit('rehearse.progress', { runId, moment })
        },
      }
      try {
        const image = await withFile(request.image, library)
        return need(await simulate('rehearse', { ...request, image }, during))
      } finally {
        if (runId !== undefined && underWay.get(runId) === abort) underWay.delete(runId)
      }
    },
    'rehearse.cancel': ({ runId }) => {
      underWay.get(runId)?.abort()
      return {}
    },
  }
}

/** The pure side cannot read files: an image of the library is handed to it as the file that it is. */
export async function withFile(image: ImageChoice, library: Library): Promise<ImageChoice> {
  if (image.kind !== 'library') return image
  const { entry, octets } = await library.read(image.id)
  const { fileName, card } = entry
  return { kind: 'file', fileName, octets, ...(card ? { cardText: writeImageCard(card) } : {}) }
}
