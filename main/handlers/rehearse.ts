import type { AppContract } from '../../shared/api/contract.ts'
import type { Handlers } from '../../shared/api/define.ts'
import { need } from '../../shared/api/serve.ts'
import { writeImageCard } from '../../shared/image/image-card.ts'
import type { ImageChoice } from '../../shared/rehearse/report.ts'
import type { Library } from '../store/library.ts'
import type { Simulate } from '../work/simulate.ts'

/** `rehearse.run`: the rehearsal is computed at once and whole; the window plays it back. */
export function rehearseHandlers(
  library: Library,
  simulate: Simulate,
): Pick<Handlers<AppContract>, 'rehearse.run'> {
  return {
    'rehearse.run': async request =>
      need(await simulate('rehearse', { ...request, image: await withFile(request.image, library) })),
  }
}

/** The pure side cannot read files: an image of the library is handed to it as the file that it is. */
export async function withFile(image: ImageChoice, library: Library): Promise<ImageChoice> {
  if (image.kind !== 'library') return image
  const { entry, octets } = await library.read(image.id)
  const { fileName, card } = entry
  return { kind: 'file', fileName, octets, ...(card ? { cardText: writeImageCard(card) } : {}) }
}
