import { around, type Bench } from '../model/bench.ts'
import type { ReceiverUnit } from '../model/gear.ts'
import { isKnown } from '../model/units.ts'
import { benchAfter } from './after.ts'
import {
  broken,
  type Check,
  COMMON_PRACTICE,
  evidence,
  holds,
  notKnown,
  type Remedy,
  type Rule,
  takeOtherImage,
} from './rule.ts'
import { afterRule, bindTo, generationAfter, moduleAfter, moduleFor, type WithBoth } from './rules-after.ts'
import { linkRules } from './rules-link.ts'
import { situationOf } from './situation.ts'

/**
 * What a change of one receiver does to the others. Where the module has to be changed for it, the same rules are asked
 * of every other receiver on that module, on a bench where it is changed.
 */

const CONCERN_BINDING = [
  'module-hardware',
  'module-band',
  'module-generation',
  'module-region',
  'module-firmware',
]
const bindingRules = linkRules.filter(rule => CONCERN_BINDING.includes(rule.id))

/** The worst that the rules about binding find of a receiver on this bench. */
function binds(bench: Bench, receiverId: string): Check['holds'] {
  const s = situationOf(bench, receiverId, 'wireless', undefined)
  if (s === undefined) return 'unknown'
  const found = bindingRules.filter(rule => rule.applies(s)).map(rule => rule.check(s).holds)
  return found.includes('no') ? 'no' : found.includes('unknown') ? 'unknown' : 'yes'
}

const isChange = (remedy: Remedy) => remedy.route === undefined && !remedy.otherImage

/** By bench, then by receiver and module: they are the same for every image that is ranked. */
const known = new WeakMap<Bench, Map<string, readonly ReceiverUnit[]>>()

/** The other receivers that the module is for: those bound to it, or in a model that flies with it. */
function othersOn(s: WithBoth): readonly ReceiverUnit[] {
  const ofBench = known.get(s.bench) ?? new Map<string, readonly ReceiverUnit[]>()
  known.set(s.bench, ofBench)
  const key = `${s.receiver.id} ${s.module.id}`
  const before = ofBench.get(key)
  if (before !== undefined) return before
  const inModels = new Set(s.bench.models.filter(m => m.moduleId === s.module.id).flatMap(m => m.receiverIds))
  const others = s.bench.receivers.filter(
    r =>
      r.id !== s.receiver.id &&
      (r.boundTo === s.module.id || inModels.has(r.id)) &&
      around(s.bench, r.id).module?.id === s.module.id,
  )
  ofBench.set(key, others)
  return others
}

interface ModuleChange {
  /** The bench with the receiver updated and the module changed for it. */
  readonly bench: Bench
  /** What has to be done to the module; nothing where it can stay as it is. */
  readonly labels: readonly string[]
  /** False where it cannot be said whether the module has to be changed. */
  readonly known: boolean
}

/** The changes of the module that the image brings with it, by the remedies of the rules that it would break. */
function moduleChange(s: WithBoth): ModuleChange {
  const asks = moduleAfter.applies(s) ? moduleAfter.check(s).holds : 'yes'
  // Most images leave everything between module and receiver as it is.
  if (asks === 'yes' && s.image.generation === s.receiver.generation && isKnown(s.image.generation))
    return { bench: s.bench, labels: [], known: true }
  const labels: string[] = []
  let known = true
  let bench = benchAfter(s)
  const take = (check: Check) => {
    if (check.holds === 'unknown') known = false
    const remedy = check.holds === 'no' ? check.remedies.find(isChange) : undefined
    if (remedy === undefined) return
    labels.push(remedy.label)
    bench = remedy.apply(bench)
  }
  if (moduleAfter.applies(s)) take(moduleAfter.check(s))
  const rule = linkRules.find(r => r.id === 'module-generation')
  const before = situationOf(s.bench, s.receiver.id, 'wireless', undefined)
  const then = situationOf(bench, s.receiver.id, 'wireless', undefined)
  // What does not agree already is not the doing of this image.
  const agreed = before !== undefined && rule?.check(before).holds !== 'no'
  if (agreed && then !== undefined && rule !== undefined) take(rule.check(then))
  return { bench, labels, known }
}

const MOST_NAMED = 6
function namesOf(receivers: readonly ReceiverUnit[]): string {
  const names = receivers.slice(0, MOST_NAMED).map(r => r.nickname)
  const more = receivers.length - names.length
  return more > 0 ? `${names.join(', ')} and ${more} more` : names.join(', ')
}

interface LeftBehind extends ModuleChange {
  /** Those that bind now, and would not afterwards. */
  readonly left: readonly ReceiverUnit[]
  /** Those of which it cannot be said. */
  readonly open: readonly ReceiverUnit[]
}

/** Whom the image leaves behind. */
function leftBehind(s: WithBoth): LeftBehind {
  const change = moduleChange(s)
  // Thousands of images are ranked at once, and most leave the module as it is.
  if (!change.known || change.labels.length === 0) return { ...change, left: [], open: [] }
  const others = othersOn(s)
  return {
    ...change,
    left: others.filter(r => binds(change.bench, r.id) === 'no' && binds(s.bench, r.id) !== 'no'),
    open: others.filter(r => binds(change.bench, r.id) === 'unknown'),
  }
}

/** Another module that can take this receiver, so that this one can stay as it is. */
function bindElsewhere(s: WithBoth): Remedy[] {
  const generation = isKnown(s.image.generation) ? s.image.generation : s.receiver.generation
  const other = isKnown(generation) ? moduleFor(s, generation) : undefined
  if (other === undefined) return []
  const remedy = bindTo(s, other)
  const after = situationOf(remedy.apply(s.bench), s.receiver.id, s.route, s.image)
  if (after === undefined) return []
  if (!leavesBehind.applies(after)) return [remedy]
  const { known, labels, left, open } = leftBehind(after as WithBoth)
  return known && (labels.length === 0 || left.length + open.length === 0) ? [remedy] : []
}

const leavesBehind: Rule = afterRule({
  id: 'leaves-behind',
  claim: 'No other receiver on the module is left behind.',
  source: `${COMMON_PRACTICE}: one module is for all the receivers that are bound to it`,
  severity: 'warn',
  enforcedBy: 'computer',
  looksAt: ['typeId', 'moduleFirmware', 'version', 'generation'],
  // An image for another type goes nowhere, so it leaves nobody behind.
  applies: s =>
    s.image.typeId === s.receiverType.id &&
    othersOn(s).length > 0 &&
    (moduleAfter.applies(s) || generationAfter.applies(s)),
  check: s => {
    const others = othersOn(s)
    const { labels, known, left, open } = leftBehind(s)
    const shown = [evidence('Module', s.module.nickname), evidence('Other receivers on it', others.length)]
    if (!known)
      return notKnown('Whether the module has to be changed for this image is not known.', [
        ...shown,
        evidence('Module has to be changed', 'unknown'),
      ])
    if (labels.length === 0)
      return holds('The module can stay as it is, and so can the other receivers on it.', [
        ...shown,
        evidence('Module has to be changed', false),
      ])
    const told = [
      ...shown,
      evidence('To be done to the module', labels.join(' ')),
      evidence('Left behind', left.length === 0 ? 'none' : namesOf(left)),
      ...(open.length > 0 ? [{ label: 'Not known of', value: namesOf(open), known: false }] : []),
    ]
    if (left.length > 0)
      return broken(sentence(left), told, [
        ...bindElsewhere(s),
        takeOtherImage('Take an image for which the module can stay as it is, or update the others too.'),
      ])
    return open.length > 0
      ? notKnown(
          `The module has to be changed for this image; whether ${namesOf(open)} still ${open.length === 1 ? 'binds' : 'bind'} then is not known.`,
          told,
        )
      : holds('The module has to be changed for this image; all others on it still bind.', told)
  },
})

function sentence(left: readonly ReceiverUnit[]): string {
  const [who, bind] =
    left.length === 1 ? ['1 other receiver', 'binds'] : [`${left.length} other receivers`, 'bind']
  return `If you go on, ${who} on this module no longer ${bind}: ${namesOf(left)}.`
}

/** Asked in this order. */
export const afterRules: readonly Rule[] = [moduleAfter, generationAfter, leavesBehind]
