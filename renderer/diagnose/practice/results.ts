import type {
  Exercise,
  PracticeDone,
  PracticeEnd,
  PracticeSetup,
  PracticeSpent,
} from '../../../shared/diagnose/exercise.ts'
import { MOST_SEED } from '../../../shared/diagnose/exercise.ts'
import { symptomWords } from '../../../shared/diagnose/words.ts'
import { answerWords, list, minuteWords } from '../words.ts'

/** One exercise that is over. */
export interface PracticeResult {
  /** Counts the exercises of this session, from 1. */
  readonly number: number
  readonly setup: PracticeSetup
  readonly symptom: string
  readonly works: boolean
  readonly spent: PracticeSpent
  readonly engineMinutes: number
}

export const resultOf = (setup: PracticeSetup, exercise: Exercise, number: number): PracticeResult => ({
  number,
  setup,
  symptom: symptomWords[exercise.first].label,
  works: exercise.end?.works ?? false,
  spent: exercise.spent,
  engineMinutes: exercise.end?.engine.minutes ?? 0,
})

export const faultWords: Readonly<Record<PracticeSetup['faults'], string>> = {
  one: 'One thing is wrong',
  two: 'Two things are wrong',
  either: 'One thing is wrong, or two',
}

/**
 * The number of an exercise as somebody typed it.
 * @returns undefined for nothing typed, and a sentence where it is no such number
 */
export function readSeed(text: string): number | undefined | string {
  const trimmed = text.trim()
  if (trimmed === '') return undefined
  const seed = Number(trimmed)
  return /^\d+$/.test(trimmed) && seed <= MOST_SEED
    ? seed
    : `Write a whole number from 0 to ${MOST_SEED}, or nothing.`
}

/** Short enough to be told to a neighbour. */
const MOST_DRAWN = 9999
/** @param draw a whole number at random, at least 0 */
export const drawnSeed = (draw: number): number => 1 + (draw % MOST_DRAWN)

const count = (n: number, one: string, many: string): string =>
  `${n === 0 ? 'no' : n} ${n === 1 ? one : many}`
export const spentWords = ({ looks, repairs, hints }: PracticeSpent): string =>
  `${count(looks, 'look', 'looks')}, ${count(repairs, 'repair', 'repairs')}, ${count(hints, 'hint', 'hints')}`

/** What a step brought, in a sentence or two. */
export function sayDone(done: PracticeDone): string {
  if (done.do === 'look') return `${done.question} ${answerWords[done.answer]}.`
  if (done.do === 'repair') return `${done.label} ${sayAfter(done)}`
  if (done.next.do === 'ask') return 'A hint: nothing explains what was seen.'
  return `A hint: ${done.next.do === 'look' ? 'look' : 'repair'}. ${done.label}`
}

export function sayAfter({ change, after }: Extract<PracticeDone, { do: 'repair' }>): string {
  if (change === 'works') return 'Tried again: it works.'
  if (change === 'same' || after === 'none') return 'Tried again: it is still the same.'
  return `Tried again: now something else is seen. ${symptomWords[after].label}.`
}

export const headingOfEnd = ({ works, truth }: PracticeEnd): string =>
  `${works ? 'It works again' : 'Given up'}. It was: ${list(truth.map(({ label }, i) => (i === 0 ? label : label.charAt(0).toLowerCase() + label.slice(1))))}`

/** Against the engine, in one sentence. */
export function verdict(spent: PracticeSpent, { works, engine }: PracticeEnd): string {
  if (!engine.works) return 'The engine did not get it going by itself.'
  if (!works) return `The engine gets it going in ${minuteWords(engine.minutes)}.`
  const more = spent.minutes - engine.minutes
  if (more === 0) return 'You took as long as the engine by itself.'
  return more > 0
    ? `You took ${minuteWords(more)} more than the engine by itself.`
    : `You took ${minuteWords(-more)} less than the engine by itself.`
}
