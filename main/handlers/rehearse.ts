import type { AppContract, RehearsalReply } from '../../shared/api/contract.ts'
import type { Handlers } from '../../shared/api/define.ts'
import { ProblemsError } from '../../shared/api/serve.ts'
import { writeImageCard } from '../../shared/image/image-card.ts'
import { rehearse } from '../../shared/rehearse/rehearse.ts'
import type { ImageChoice, RehearsalRequest } from '../../shared/rehearse/report.ts'
import { packTrace } from '../../shared/sim/pack.ts'
import type { Library } from '../store/library.ts'

/** `rehearse.run`: the rehearsal is computed at once and whole; the window plays it back. */
export function rehearseHandlers(library: Library): Pick<Handlers<AppContract>, 'rehearse.run'> {
  return {
    'rehearse.run': async request =>
      runRehearsal({ ...request, image: await withFile(request.image, library) }),
  }
}

export function runRehearsal(request: RehearsalRequest): RehearsalReply {
  const rehearsed = rehearse(request, { nowMs: () => performance.now() })
  if (!rehearsed.ok) throw new ProblemsError(rehearsed.problems)
  const { report, trace, flash } = rehearsed.value
  return { report, trace: packTrace(trace), flash }
}

/** The pure side cannot read files: an image of the library is handed to it as the file that it is. */
export async function withFile(image: ImageChoice, library: Library): Promise<ImageChoice> {
  if (image.kind !== 'library') return image
  const { entry, octets } = await library.read(image.id)
  const { fileName, card } = entry
  return { kind: 'file', fileName, octets, ...(card ? { cardText: writeImageCard(card) } : {}) }
}
