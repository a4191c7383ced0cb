import { z } from 'zod'
import type { Bench } from '../../../shared/model/bench.ts'
import { typeNotKnown } from '../../../shared/model/type-not-known.ts'
import { idSchema, isKnown, type Route, routeSchema } from '../../../shared/model/units.ts'
import type { FaultChoice, ImageChoice, RehearsalRequest } from '../../../shared/rehearse/report.ts'
import { faultChoiceSchema } from '../../../shared/rehearse/report.ts'
import { FAULTS } from '../../../shared/sim/faults.ts'

/** A file that the person chose. Its octets are never kept between sessions. */
export interface ChosenFile {
  readonly fileName: string
  readonly octets: Uint8Array
  readonly cardText?: string
}

/** What is set on the left of the view. */
export interface Settings {
  readonly imageId: string | undefined
  /** One of the library, which goes before the bench's. */
  readonly libraryId: string | undefined
  readonly file: ChosenFile | undefined
  readonly declaredTypeId: string | undefined
  readonly declaredVersion: string
  readonly dropOutside: boolean
  readonly route: Route
  readonly seed: string
  /** Values of the faults that are on, by name. */
  readonly faults: Readonly<Record<string, string>>
}

export const freshSettings: Settings = {
  imageId: undefined,
  libraryId: undefined,
  file: undefined,
  declaredTypeId: undefined,
  declaredVersion: '',
  dropOutside: false,
  route: 'cable',
  seed: '1',
  faults: {},
}

const keptSchema = z.object({
  imageId: idSchema.optional(),
  libraryId: z
    .string()
    .regex(/^[0-9a-f]{64}$/)
    .optional(),
  route: routeSchema,
  seed: z.string().regex(/^\d{1,10}$/),
  faults: z.array(faultChoiceSchema).max(40),
})

interface Keep {
  getItem(name: string): string | null
  setItem(name: string, value: string): void
}
const KEPT = 'preflash.rehearse'

/** The settings of last time; the fresh ones where nothing (or nothing readable) was kept. */
export function recallSettings(keep: Keep): Settings {
  try {
    const kept = keptSchema.parse(JSON.parse(keep.getItem(KEPT) ?? ''))
    const known = kept.faults.filter(choice => FAULTS.some(fault => fault.name === choice.name))
    return {
      ...freshSettings,
      ...kept,
      imageId: kept.imageId,
      libraryId: kept.libraryId,
      faults: Object.fromEntries(known.map(({ name, value }) => [name, value ?? ''])),
    }
  } catch {
    return freshSettings
  }
}

/** Keeps what makes sense another time; a full or locked store is no reason to disturb anybody. */
export function keepSettings(keep: Keep, settings: Settings): void {
  const { imageId, libraryId, route, seed } = settings
  try {
    keep.setItem(KEPT, JSON.stringify({ imageId, libraryId, route, seed, faults: faultChoices(settings) }))
  } catch {
    return
  }
}

function faultChoices(settings: Settings): FaultChoice[] {
  return Object.entries(settings.faults).map(([name, value]) => (value === '' ? { name } : { name, value }))
}

/** Faults that are on and belong to the chosen route. */
export const activeFaults = (settings: Settings): FaultChoice[] =>
  faultChoices(settings).filter(choice =>
    FAULTS.some(fault => fault.name === choice.name && fault.routes.includes(settings.route)),
  )

/** Bench images for a receiver's type first, then the rest; each in the order of the bench. */
export function imagesFor(bench: Bench, receiverId: string | undefined) {
  const typeId = bench.receivers.find(r => r.id === receiverId)?.typeId
  return {
    own: bench.images.filter(image => image.typeId === typeId),
    other: bench.images.filter(image => image.typeId !== typeId),
  }
}

/** An image that was chosen in another view, and the route that goes with it. */
export interface InitialChoice {
  readonly image: Extract<ImageChoice, { kind: 'bench' | 'library' }>
  readonly route: Route
}

/** Something to try on a copy of the bench, which the bench itself never sees. */
export interface Trial {
  readonly bench: Bench
  readonly receiverId: string
  readonly route: Route
  readonly imageId: string
  readonly faults: readonly FaultChoice[]
  readonly what: 'cause' | 'repair'
  /** The cause in words. */
  readonly words: string
}

/** What is set for a trial, whatever was set before. */
export const trialSettings = ({ route, imageId, faults }: Trial): Settings => ({
  ...freshSettings,
  route,
  imageId,
  faults: Object.fromEntries(faults.map(({ name, value }) => [name, value ?? ''])),
})

/** The settings with what was chosen elsewhere. */
export function withChoice(settings: Settings, choice: InitialChoice | undefined): Settings {
  if (choice === undefined) return settings
  const { image, route } = choice
  return {
    ...settings,
    route,
    file: undefined,
    imageId: image.kind === 'bench' ? image.imageId : settings.imageId,
    libraryId: image.kind === 'library' ? image.id : undefined,
  }
}

/** The image that is set: a file, one of the library, the chosen one where the bench has it, else the first for the receiver's type. */
export function imageChoice(
  bench: Bench,
  receiverId: string | undefined,
  settings: Settings,
): ImageChoice | undefined {
  if (settings.file !== undefined) {
    const { fileName, octets, cardText } = settings.file
    const version = settings.declaredVersion.trim()
    const declared = {
      ...(settings.declaredTypeId === undefined ? {} : { typeId: settings.declaredTypeId }),
      ...(version === '' ? {} : { version }),
    }
    return { kind: 'file', fileName, octets, ...(cardText === undefined ? { declared } : { cardText }) }
  }
  if (settings.libraryId !== undefined) return { kind: 'library', id: settings.libraryId }
  const { own } = imagesFor(bench, receiverId)
  const chosen = bench.images.find(image => image.id === settings.imageId) ?? own[0]
  return chosen === undefined ? undefined : { kind: 'bench', imageId: chosen.id }
}

export const MAX_SEED = 0xffff_ffff

/** The seed as a number, or undefined where what stands there is none. */
export function readSeed(text: string): number | undefined {
  if (!/^\d{1,10}$/.test(text.trim())) return undefined
  const seed = Number(text.trim())
  return seed <= MAX_SEED ? seed : undefined
}

export interface SettingsProblem {
  readonly field: 'receiver' | 'image' | 'seed' | 'version'
  readonly message: string
}

/** The request, or what is missing for it. */
export function requestOf(
  bench: Bench,
  receiverId: string | undefined,
  settings: Settings,
): { readonly request: RehearsalRequest } | { readonly problems: readonly SettingsProblem[] } {
  const image = imageChoice(bench, receiverId, settings)
  const seed = readSeed(settings.seed)
  const version = settings.declaredVersion.trim()
  const problems: SettingsProblem[] = []
  const receiver = bench.receivers.find(r => r.id === receiverId)
  if (receiver === undefined)
    problems.push({ field: 'receiver', message: 'Choose the receiver to rehearse with.' })
  else if (!isKnown(receiver.typeId))
    problems.push({ field: 'receiver', message: typeNotKnown(receiver).message })
  if (image === undefined) problems.push({ field: 'image', message: 'Choose an image, or a file.' })
  if (seed === undefined) problems.push({ field: 'seed', message: `A whole number from 0 to ${MAX_SEED}.` })
  if (settings.file !== undefined && version !== '' && !/^\d{1,9}\.\d{1,9}\.\d{1,9}([-+].*)?$/.test(version))
    problems.push({ field: 'version', message: 'Three numbers with dots, such as 2.3.1, or nothing.' })
  if (problems.length > 0 || image === undefined || seed === undefined || receiverId === undefined)
    return { problems }
  return {
    request: {
      bench,
      receiverId,
      image,
      route: settings.route,
      seed,
      faults: activeFaults(settings),
      dropOutside: settings.dropOutside,
    },
  }
}
