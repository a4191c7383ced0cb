import type { cardMethods, ListedVolume, Place, StagePlanned } from '../../shared/api/card.ts'
import type { AppContract } from '../../shared/api/contract.ts'
import type { Handlers, ReceivedOf } from '../../shared/api/define.ts'
import { type Events, ProblemsError } from '../../shared/api/serve.ts'
import { namesOf } from '../../shared/card/names.ts'
import type { ForCard } from '../../shared/fit/for-card.ts'
import type { Problem, Result } from '../../shared/model/problem.ts'
import type { StoreSteps } from '../card/card-folder.ts'
import { checkCard } from '../card/check.ts'
import { progressTeller, StagingJobs } from '../card/jobs.ts'
import { volumeLister } from '../card/listing.ts'
import { planStaging, type StageRequest, stageOnVolume } from '../card/stage.ts'
import { readOnlyVolume } from '../card/stage-words.ts'
import { type Target, targetAt } from '../card/target.ts'
import { refusalOf, type Volume } from '../card/volume.ts'
import type { Library } from '../store/library.ts'
import { imageForCard } from './card-image.ts'
import { windowWords } from './card-words.ts'

/** What a test puts in place of the machine's own volumes. */
export interface CardEnv {
  readonly volumes?: () => Promise<readonly Volume[]>
  readonly steps?: StoreSteps
  readonly homeFolder?: string
  /** The time now, ISO 8601 in UTC. */
  readonly now?: () => string
}

export type CardHandlers = Pick<Handlers<AppContract>, keyof typeof cardMethods>
type PlanRequest = ReceivedOf<AppContract, 'card.plan'>

interface Surroundings {
  readonly library: Library
  readonly events: Events<AppContract>
  readonly card: CardEnv
}

/** `card.…`: the volumes of this machine, and what is put on them. */
export function cardHandlers({ library, events, card }: Surroundings): CardHandlers {
  const jobs = new StagingJobs(places => events.emit('card.writing', { places }))
  const now = card.now ?? (() => new Date().toISOString())
  const listVolumes = volumeLister(card)
  const targetOf = (place: Place) => findTarget(place, card, listVolumes)
  const wishOf = async (request: PlanRequest) => ({
    ...(await imageForCard(request, library)),
    target: await targetOf(request.place),
    folder: request.folder,
    at: now(),
    cardName: request.cardName,
    steps: card.steps,
  })
  return {
    'card.volumes': async () => ({ volumes: (await listVolumes()).map(asListed) }),
    'card.plan': async request => planned(await wishOf(request)),
    'card.stage': async request => {
      const wish = await wishOf(request)
      refuseUnread(wish.forCard.cautions, request.acknowledged)
      const { signal, ended } = jobs.begin(request.jobId, wish.target.root)
      try {
        const teller = progressTeller(request.jobId, progress => events.emit('card.progress', progress))
        const staged = await stageOnVolume({ ...wish, ...teller, signal })
        const { value, warnings } = demand(staged)
        const bytes = wish.image.payload.length
        return {
          ...value,
          bytes,
          place: placeOf(wish.target),
          junk: [...value.junk],
          warnings: [...warnings],
        }
      } finally {
        ended()
      }
    },
    'card.cancel': ({ jobId }) => ({ asked: jobs.cancel(jobId) }),
    'card.check': async ({ bench, place, folder }) => {
      const target = await targetOf(place)
      const { value } = demand(await checkCard(target, folder, bench, card.steps))
      const { manifest, images, readBack } = value
      return {
        ...{
          place: placeOf(target),
          folder,
          cardName: manifest.cardName,
          written: manifest.written,
          readBack,
        },
        images: images.map(({ receivers, ...image }) => ({ ...image, receivers: [...receivers] })),
        unlisted: [...value.unlisted],
        leftOver: [...value.leftOver],
        junk: [...value.junk],
      }
    },
  }
}

/** @throws ProblemsError in the window's words */
function demand<T>(result: Result<T>): Extract<Result<T>, { ok: true }> {
  if (!result.ok) throw new ProblemsError(result.problems.map(windowWords))
  return result
}

const placeOf = ({ root, kind }: Target) => ({ root, kind })

function asListed(volume: Volume): ListedVolume {
  const refusal = refusalOf(volume) ?? (volume.readOnly ? locked(volume.path) : undefined)
  return refusal === undefined ? volume : { ...volume, refusal: windowWords(refusal) }
}

const locked = (path: string): Problem => ({
  ...readOnlyVolume(path),
  message: 'It is read only.',
  remedy: 'Slide the lock on the side of the card, or ask for the right to write to it.',
})

/** A volume by its path; what a person has called a folder only where it is no volume that would do as such. */
async function findTarget(
  { path, folderOnly }: Place,
  { homeFolder }: CardEnv,
  volumes: () => Promise<readonly Volume[]>,
): Promise<Target> {
  const options = { volumes, ...(homeFolder === undefined ? {} : { homeFolder }) }
  const asVolume = await targetAt(path, options)
  if (asVolume.ok || !folderOnly) return demand(asVolume).value
  return demand(await targetAt(path, { ...options, folderOnly })).value
}

/** @throws ProblemsError for what the person has not taken note of */
function refuseUnread(
  cautions: readonly { readonly rule: { readonly id: string }; readonly sentence: string }[],
  acknowledged: readonly string[],
): void {
  const unread = cautions.filter(({ rule }) => !acknowledged.includes(rule.id))
  if (unread.length === 0) return
  throw new ProblemsError(
    unread.map(({ sentence }) => ({
      code: 'stage.not-acknowledged',
      message: sentence,
      remedy: 'Read it, say that you want the image on the card all the same, and stage again.',
    })),
  )
}

async function planned(wish: StageRequest & { readonly forCard: ForCard }): Promise<StagePlanned> {
  const plan = await planStaging(wish)
  const { noRoom, manifestBefore, needBytes, freeBytes, clusterBytes } = plan
  const names = plan.files.map(file => namesOf(file.path).at(-1) ?? '')
  const problems = [
    ...(wish.target.volume?.readOnly ? [readOnlyVolume(wish.target.root)] : []),
    ...(noRoom ? [noRoom] : []),
  ]
  return {
    place: placeOf(wish.target),
    folder: plan.folder,
    files: plan.files.map((file, i) => ({
      name: names[i],
      bytes: file.octets.length,
      replaces: plan.replaces.includes(names[i]),
    })),
    ...{ sha256: plan.sha256, needBytes, freeBytes, clusterBytes },
    cardName: manifestBefore?.cardName,
    others: (manifestBefore?.images ?? []).map(i => i.name).filter(name => name !== names[0]),
    droppedOutsideBytes: wish.image.droppedOutsideBytes,
    cautions: wish.forCard.cautions.map(({ rule, sentence }) => ({ rule: rule.id, sentence })),
    problems: problems.map(windowWords),
  }
}
