import { builtFacts } from '../fit/built-facts.ts'
import type { Finding, Remedy } from '../fit/rule.ts'
import { checkFit } from '../fit/rules.ts'
import { type Bench, type BuiltImage, findType } from '../model/bench.ts'
import type { ReceiverType } from '../model/catalogue.ts'
import { isKnown, type Route } from '../model/units.ts'
import type { FaultChoice } from '../rehearse/report.ts'
import { findFault } from '../sim/faults.ts'
import { findCause } from './causes.ts'
import { formOf } from './play-forms.ts'

/** What to rehearse: a copy of a person's own bench, never that bench itself. */
export interface Play {
  readonly bench: Bench
  readonly route: Route
  readonly imageId: string
  readonly faults: readonly FaultChoice[]
}

/** Which update it is about. */
export interface PlayOn {
  readonly bench: Bench
  readonly receiverId: string
  readonly route: Route
  /** The image in question; else one that fits is taken, or one is made up. */
  readonly imageId?: string
}

/**
 * The person's own bench with these causes in place, ready to be rehearsed.
 * @returns undefined where the receiver's type is not known, or where a rehearsed update would not show them: what
 * comes out only in flight
 */
export function playOf(on: PlayOn, causeIds: readonly string[]): Play | undefined {
  const base = baseOf(on)
  if (base === undefined || causeIds.length === 0) return undefined
  let { bench } = base
  const faults: FaultChoice[] = []
  const formOn = { receiverId: on.receiverId, imageId: base.imageId, route: on.route }
  for (const id of causeIds) {
    const form = formOf(id)
    if (form === undefined || !findCause(id)?.routes.includes(on.route)) return undefined
    if (form.kind === 'bench') {
      if (form.routes !== undefined && !form.routes.includes(on.route)) return undefined
      bench = form.change(bench, formOn)
    } else if (findFault(form.name)?.routes.includes(on.route)) {
      const { name } = form
      const value = typeof form.value === 'function' ? form.value(bench, formOn) : form.value
      faults.push(value === undefined ? { name } : { name, value })
    } else return undefined
  }
  return { bench, route: on.route, imageId: base.imageId, faults }
}

/** Repairs that are an update by cable, whatever way the one went that failed. */
const BY_CABLE: ReadonlySet<string> = new Set([
  'image-cable-only',
  'module-no-updates',
  'module-hardware',
  'module-region',
  'module-too-new',
  'receiver-not-by-air',
  'receiver-first-by-cable',
  'power-lost',
  'worn-flash',
])

/**
 * The person's own bench with what repairs these causes done to it: the remedies of the rules that they break, an image
 * that fits where it was the image, the cable where the repair goes by cable.
 * @returns undefined where the receiver's type is not known
 */
export function repairOf(on: PlayOn, causeIds: readonly string[]): Play | undefined {
  const causes = causeIds.flatMap(id => findCause(id) ?? [])
  const byCable = causes.some(({ id }) => BY_CABLE.has(id))
  const otherImage = causes.some(({ part, id }) => part === 'image' && id !== 'image-needs-step')
  const rules = new Set(causes.flatMap(({ rule }) => rule ?? []))
  const route: Route = byCable ? 'cable' : on.route
  let bench = on.bench
  // A remedy can bring the next broken rule to light; no chain of them is longer than there are causes.
  for (let step = 0; step < 2 * MOST_REMEDIES; step++) {
    const base = baseOf({ ...on, bench, route, ...(otherImage ? { imageId: undefined } : {}) })
    if (base === undefined) return undefined
    const remedy = brokenOn(base, on.receiverId, route)
      .filter(({ rule }) => rules.has(rule.id))
      .flatMap(({ remedies }) => remedies.find(changesBench) ?? [])[0]
    if (remedy === undefined || step >= MOST_REMEDIES) return { ...base, route, faults: [] }
    bench = remedy.apply(base.bench)
  }
  return undefined
}
const MOST_REMEDIES = 6

const changesBench = (remedy: Remedy): boolean => remedy.route === undefined && remedy.otherImage !== true

function factsOf(bench: Bench, image: BuiltImage) {
  const own = findType(bench.catalogue, 'receiverTypes', image.typeId) as ReceiverType | undefined
  return builtFacts(image, own)
}

function brokenOn({ bench, imageId }: Base, receiverId: string, route: Route): readonly Finding[] {
  const image = bench.images.find(i => i.id === imageId)
  const found = checkFit(bench, receiverId, route, image && factsOf(bench, image)) ?? []
  return found.filter(({ holds }) => holds === 'no')
}

interface Base {
  readonly bench: Bench
  readonly imageId: string
}

/** The bench with an image to rehearse with. */
function baseOf({ bench, receiverId, route, imageId }: PlayOn): Base | undefined {
  const unit = bench.receivers.find(r => r.id === receiverId)
  const type = unit && (findType(bench.catalogue, 'receiverTypes', unit.typeId) as ReceiverType | undefined)
  if (unit === undefined || type === undefined) return undefined
  if (bench.images.some(image => image.id === imageId)) return { bench, imageId: imageId as string }
  const own = bench.images.filter(image => image.typeId === type.id)
  const fits = own.find(image => brokenOn({ bench, imageId: image.id }, receiverId, route).every(isWarning))
  if (fits) return { bench, imageId: fits.id }
  const made = madeUp(type, isKnown(unit.generation) ? unit.generation : undefined)
  return { bench: { ...bench, images: [...bench.images, made] }, imageId: made.id }
}

const isWarning = ({ rule }: Finding): boolean => rule.severity === 'warn'

/** In place of an image that the bench does not have: it fits whatever receiver of this type there is. */
const madeUp = (type: ReceiverType, generation: number | undefined): BuiltImage => ({
  id: 'image-to-try-with',
  name: 'Image to try with',
  typeId: type.id,
  version: '99.0.0',
  sequenceNumber: 0xffff_fffe,
  generation: generation ?? (isKnown(type.nativeGeneration) ? type.nativeGeneration : 1),
  bands: [...type.bands],
  region: 'any',
  hardwareRevisions: 'any',
  wirelessCapable: true,
  sizeBytes: Math.max(2048, Math.floor(type.flash.programBytes / 2)),
  releaseNotes: 'Made up to try something with.',
})
