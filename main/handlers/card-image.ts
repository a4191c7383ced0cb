import type { AppContract } from '../../shared/api/contract.ts'
import type { ReceivedOf } from '../../shared/api/define.ts'
import { ProblemsError } from '../../shared/api/serve.ts'
import { builtFacts } from '../../shared/fit/built-facts.ts'
import { type ForCard, forCard } from '../../shared/fit/for-card.ts'
import { rankImages } from '../../shared/fit/rank.ts'
import type { ImageFacts } from '../../shared/fit/situation.ts'
import type { LibraryEntry } from '../../shared/library/entry.ts'
import { entryFacts } from '../../shared/library/facts.ts'
import { type Bench, findType } from '../../shared/model/bench.ts'
import type { ReceiverType } from '../../shared/model/catalogue.ts'
import { type Problem, ProblemError } from '../../shared/model/problem.ts'
import { type ReadyImage, readyImage } from '../../shared/rehearse/image.ts'
import type { Library } from '../store/library.ts'
import { windowWords } from './card-words.ts'
import { withFile } from './rehearse.ts'

type Request = ReceivedOf<AppContract, 'card.plan'>

/**
 * The image that goes on the card for a receiver, and what the rules say of that.
 * @throws ProblemError `bench.no-receiver`, `bench.type-not-known`; ProblemsError for an image that cannot be read, is for another type
 * (`image.other-type`), or breaks a rule that stands between image and receiver (`fit.` and the rule)
 */
export async function imageForCard(
  request: Request,
  library: Library,
): Promise<{ readonly image: ReadyImage; readonly forCard: ForCard }> {
  const { bench, receiverId } = request
  const type = typeOf(bench, receiverId)
  const said = forCard(await findingsFor(request, type, library))
  if (said.refused.length > 0)
    throw new ProblemsError(
      said.refused.map(({ rule, sentence, remedies }) => ({
        code: rule.id === 'image-type' ? 'image.other-type' : `fit.${rule.id}`,
        message: `${sentence} It is not put on the card for this receiver.`,
        remedy: remedies[0]?.label ?? 'Take another image.',
      })),
    )
  const choice = await withFile(request.image, library)
  const ready = readyImage(bench, type, choice, request.dropOutside)
  if (!ready.ok) throw new ProblemsError(ready.problems.map(windowWords))
  return { image: ready.value, forCard: said }
}

function typeOf(bench: Bench, receiverId: string): ReceiverType {
  const receiver = bench.receivers.find(r => r.id === receiverId)
  const type = receiver && findType(bench.catalogue, 'receiverTypes', receiver.typeId)
  if (type !== undefined) return type
  throw new ProblemError(
    receiver === undefined
      ? {
          code: 'bench.no-receiver',
          field: 'receiverId',
          message: `There is no receiver called "${receiverId}" on this bench.`,
          remedy: 'Choose the receiver again.',
        }
      : {
          code: 'bench.type-not-known',
          field: 'receiverId',
          message: `The type of ${receiver.nickname} is not known, so nothing can be put on a card for it.`,
          remedy: 'Answer the questions in the Firmware view first.',
        },
  )
}

/** As it is listed: with what its signature proves by the keys that are trusted now. */
async function entryOf(id: string, library: Library): Promise<LibraryEntry> {
  const listed = (await library.list()).find(entry => entry.id === id)
  return listed ?? (await library.read(id)).entry
}

async function findingsFor(
  { bench, receiverId, image, dropOutside }: Request,
  type: ReceiverType,
  library: Library,
) {
  const [id, facts] =
    image.kind === 'bench'
      ? [image.imageId, benchFacts(bench, image.imageId)]
      : [image.id, entryFacts(await entryOf(image.id, library), bench, type)]
  if (facts === undefined) throw new ProblemError(unknownImage(id))
  // The rules between image and receiver are the same by cable and by air.
  const looked = dropOutside ? { ...facts, outsideBytes: 0 } : facts
  const [ranked] = rankImages(bench, receiverId, 'cable', [{ id, name: id, facts: looked }]) ?? []
  return ranked?.findings ?? []
}

function benchFacts(bench: Bench, imageId: string): ImageFacts | undefined {
  const built = bench.images.find(i => i.id === imageId)
  return built && builtFacts(built, findType(bench.catalogue, 'receiverTypes', built.typeId))
}

const unknownImage = (id: string): Problem => ({
  code: 'image.unknown',
  field: 'image',
  message: `There is no image called "${id}" on the bench.`,
  remedy: 'Choose the image again.',
})
