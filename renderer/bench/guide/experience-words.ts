import { ENOUGH, type Experience, type UsualTime } from '../../../shared/experience/experience.ts'
import { sayTime } from './words.ts'

/** What earlier updates on this bench have shown, in words. `one` and `many` are what they are called: run, write. */
export interface Called {
  readonly one: string
  readonly many: string
}
export const RUNS: Called = { one: 'run', many: 'runs' }
export const WRITES: Called = { one: 'write', many: 'writes' }

const counted = (count: number, { one, many }: Called): string => `${count} ${count === 1 ? one : many}`
const ofHundred = (share: number): number => Math.round(share * 100)

/** How often the first attempt failed, and what came of the second; nothing where none was seen to its end. */
export function firstWords({ first, second }: Pick<Experience, 'first' | 'second'>, called: Called): string {
  if (first === null) return ''
  const { failed, of, isOfType } = first
  const where = `On your bench${isOfType ? ', with this type of receiver,' : ''}`
  const said =
    failed === 0
      ? `${where} the first attempt went through in ${of === 1 ? `the one ${called.one} so far` : `all of ${counted(of, called)}`}`
      : `${where} the first attempt failed in ${of === 1 ? `the one ${called.one} so far` : `${failed} of ${counted(of, called)}`}`
  const then = second === null ? '' : `; the second then went through in ${second.worked} of ${second.of}`
  return `${said}${then}.`
}

/** What so few cases leave open: the interval of 95 %. */
export const openWords = ({ first }: Pick<Experience, 'first'>): string =>
  first === null
    ? ''
    : `So few leave much open: of every 100, between ${ofHundred(first.low)} and ${ofHundred(first.high)} may fail at first.`

/** How long it takes on this bench; nothing where that is not known. */
export function usualWords(usual: UsualTime | undefined, called: Called): string {
  if (usual === undefined) return ''
  const usually = usual.runs >= ENOUGH ? 'usually ' : ''
  const types = usual.isOfType ? '' : ', other types among them'
  return `On your bench ${usually}${sayTime(usual.ms)} (from ${counted(usual.runs, called)}${types}).`
}

const WRITING = ['start', 'watch'] as const

/** How long the writing takes on this bench, start and watching together; undefined where one of both is not known. */
export function usualWriting({ times }: Pick<Experience, 'times'>): UsualTime | undefined {
  const parts = WRITING.flatMap(id => times[id] ?? [])
  if (parts.length < WRITING.length) return undefined
  return {
    ms: parts.reduce((sum, { ms }) => sum + ms, 0),
    runs: Math.min(...parts.map(({ runs }) => runs)),
    isOfType: parts.every(({ isOfType }) => isOfType),
  }
}
