import { builtFacts } from '../../shared/fit/built-facts.ts'
import { type Candidate, type Ranked, rankImages, type Verdict, verdictOf } from '../../shared/fit/rank.ts'
import type { Finding } from '../../shared/fit/rule.ts'
import type { ImageFacts } from '../../shared/fit/situation.ts'
import { type LineImage, lineImageOf } from '../../shared/fit/version-line.ts'
import type { LibraryEntry } from '../../shared/library/entry.ts'
import { entryFacts } from '../../shared/library/facts.ts'
import { type Bench, type BuiltImage, findType } from '../../shared/model/bench.ts'
import type { ReceiverType } from '../../shared/model/catalogue.ts'
import { isKnown, type Route } from '../../shared/model/units.ts'
import type { ImageChoice } from '../../shared/rehearse/report.ts'
import type { StatusRole } from '../ui/StatusMark.tsx'

/** The images that the view lists: the bench's and the library's, each with what the rules say of it. */

export type ChosenImage = Extract<ImageChoice, { kind: 'bench' | 'library' }>

export interface Source {
  /** Unique among all images; `bench:…` or `library:…`. */
  readonly key: string
  readonly name: string
  readonly choice: ChosenImage
  /** Of the payload; undefined where the bench would have to build the image first. */
  readonly sha256: string | undefined
  readonly built: BuiltImage | undefined
  readonly entry: LibraryEntry | undefined
  readonly facts: ImageFacts
  readonly typeName: string
}

/** The rules' verdict, and between "fits" and "not known" what fits only after another image. */
export type Standing = Verdict | 'after-step'

export interface Listed extends Source {
  readonly ranked: Ranked
  readonly standing: Standing
  /** Why it cannot go straight on what the receiver runs, where it asks for firmware that must be there before. */
  readonly stepFirst: string | undefined
}

export const standingWords: Readonly<Record<Standing, string>> = {
  fits: 'fits',
  'after-step': 'fits after a step',
  'not-known': 'not known',
  'does-not-fit': 'does not fit',
}
export const standingStatus: Readonly<Record<Standing, StatusRole>> = {
  fits: 'good',
  'after-step': 'caution',
  'not-known': 'unknown',
  'does-not-fit': 'danger',
}
const ORDER: Readonly<Record<Standing, number>> = {
  fits: 0,
  'after-step': 1,
  'not-known': 2,
  'does-not-fit': 3,
}

const typeOf = (bench: Bench, id: string): ReceiverType | undefined =>
  findType(bench.catalogue, 'receiverTypes', id)

function typeNames(bench: Bench): (id: string) => string {
  const names = new Map(bench.catalogue.receiverTypes.map(type => [type.id, `${type.maker} ${type.name}`]))
  return id => (isKnown(id) ? (names.get(id) ?? id) : 'type not known')
}

/** All images as seen from a receiver of this type; where it is not known, each as for a receiver of its own type. */
export function sourcesOf(
  bench: Bench,
  entries: readonly LibraryEntry[],
  type: ReceiverType | undefined,
): Source[] {
  const nameOf = typeNames(bench)
  const built = bench.images.map((image): Source => {
    const facts = builtFacts(image, typeOf(bench, image.typeId))
    return {
      key: `bench:${image.id}`,
      name: image.name,
      choice: { kind: 'bench', imageId: image.id },
      sha256: undefined,
      built: image,
      entry: undefined,
      facts,
      typeName: nameOf(image.typeId),
    }
  })
  const kept = entries.map((entry): Source => {
    const facts = entryFacts(entry, bench, type)
    return {
      key: `library:${entry.id}`,
      name: entry.fileName,
      choice: { kind: 'library', id: entry.id },
      sha256: entry.id,
      built: undefined,
      entry,
      facts,
      typeName: nameOf(facts.typeId),
    }
  })
  return [...built, ...kept]
}

export const candidateOf = ({ key, name, facts }: Source): Candidate => ({ id: key, name, facts })

/** @returns the images, the best for this receiver first; empty when the receiver is not on the bench */
export function listImages(
  bench: Bench,
  receiverId: string,
  route: Route,
  sources: readonly Source[],
): Listed[] {
  const byKey = new Map(sources.map(source => [source.key, source]))
  const ranked = rankImages(bench, receiverId, route, sources.map(candidateOf)) ?? []
  return ranked
    .flatMap((one): Listed[] => {
      const source = byKey.get(one.candidate.id)
      if (source === undefined) return []
      const stepFirst = stepBefore(one.findings)?.sentence
      return [{ ...source, ranked: one, stepFirst, standing: standingOf(one) }]
    })
    .sort((a, b) => ORDER[a.standing] - ORDER[b.standing])
}

/** The rule that an image asks for firmware that must be there before, where that stands in the way. */
const stepBefore = (findings: readonly Finding[]): Finding | undefined =>
  findings.find(f => f.rule.id === 'stepping-stone' && f.holds === 'no')

/** What fits but for the step before it is told apart from what does not fit at all. */
function standingOf({ verdict, findings }: Ranked): Standing {
  const step = stepBefore(findings)
  if (step === undefined) return verdict
  const others = verdictOf(findings.filter(f => f !== step))
  return others === 'fits' ? 'after-step' : verdict
}

export interface Filter {
  readonly text: string
  /** Leaves out what is known to be for another type. */
  readonly typeId: string | undefined
}

/** What is searched in, put together once for each image of a list: somebody types a word letter by letter. */
const texts = new WeakMap<Listed, string>()

function textOf(one: Listed): string {
  const known = texts.get(one)
  if (known !== undefined) return known
  const { name, typeName, facts, entry, standing } = one
  const from = entry === undefined ? 'bench' : 'library'
  const text = [name, typeName, facts.version, from, standingWords[standing], entry?.card?.notes ?? '']
    .join(' ')
    .toLowerCase()
  texts.set(one, text)
  return text
}

/** Those that have every word of the text somewhere. */
export function filterListed(all: readonly Listed[], { text, typeId }: Filter): readonly Listed[] {
  const words = text.toLowerCase().split(/\s+/).filter(Boolean)
  if (words.length === 0 && typeId === undefined) return all
  return all.filter(
    one =>
      (typeId === undefined || one.facts.typeId === typeId || !isKnown(one.facts.typeId)) &&
      (words.length === 0 || words.every(word => textOf(one).includes(word))),
  )
}

/** `3 fit, 1 not known, 12 do not fit`, without what there is none of. */
export function countWords(all: readonly Listed[]): string {
  const count = (standing: Standing) => all.filter(one => one.standing === standing).length
  const [fit, unknown, not] = [count('fits'), count('not-known'), count('does-not-fit')]
  const after = count('after-step')
  return [
    fit > 0 && `${fit} ${fit === 1 ? 'fits' : 'fit'}`,
    after > 0 && `${after} after a step`,
    unknown > 0 && `${unknown} not known`,
    not > 0 && `${not} ${not === 1 ? 'does' : 'do'} not fit`,
  ]
    .filter(Boolean)
    .join(', ')
}

export const kib = (octets: number): string =>
  octets < 1024
    ? `${octets} ${octets === 1 ? 'octet' : 'octets'}`
    : `${Math.ceil(octets / 1024).toLocaleString('en')} KiB`

export const versionWord = (facts: ImageFacts): string =>
  isKnown(facts.version) ? facts.version : 'version not known'

export const asLineImage = ({ key, facts }: Source): LineImage => lineImageOf(key, facts)

/** What an image card leaves open, as the names of its fields. */
export function gapsOf(facts: ImageFacts): string[] {
  const open: [string, boolean][] = [
    ['type', !isKnown(facts.typeId)],
    ['version', !isKnown(facts.version)],
    ['generation', !isKnown(facts.generation)],
    ['bands', !isKnown(facts.bands)],
    ['region', !isKnown(facts.region)],
    ['hardware revisions', facts.hardwareRevisions === 'unknown'],
    ['whether it may go by air', !isKnown(facts.wirelessCapable)],
  ]
  return open.filter(([, isOpen]) => isOpen).map(([name]) => name)
}
