import { type Answered, answered, overruled } from '../../shared/diagnose/answers.ts'
import { findCause } from '../../shared/diagnose/causes.ts'
import { diagnose, routeOf } from '../../shared/diagnose/diagnose.ts'
import { findFact } from '../../shared/diagnose/facts.ts'
import { modelTable, type TableModel } from '../../shared/diagnose/model.ts'
import {
  type Answer,
  answerSchema,
  type Diagnosis,
  type DiagnosisRequest,
  type NextStep,
  type SymptomId,
} from '../../shared/diagnose/report.ts'
import { afterwardsFor } from '../../shared/fit/afterwards.ts'
import { situationOf } from '../../shared/fit/situation.ts'
import type { Said } from '../../shared/logbook/finding-of.ts'
import type { Route } from '../../shared/model/units.ts'
import { chooseRoute, chooseSymptom } from './diagnose-choose.ts'
import { factsText, factText, nextText, repairText, stateText, whyText } from './diagnose-text.ts'
import { type Ending, EXIT } from './ending.ts'
import { need } from './input.ts'
import type { Terminal } from './terminal.ts'

/** Keeps what has helped; gives what there is to say about that. */
export type Keep = (diagnosis: Diagnosis, found: readonly string[], said: Said) => Promise<readonly string[]>

/** What is known before the conversation. */
export type Given = Omit<DiagnosisRequest, 'symptom'>

/** One step that can be taken back. */
type Step =
  | {
      readonly kind: 'answer'
      readonly fact: string
      readonly answer: Answer
      /** Given at a second look; what stood before it. */
      readonly second?: { readonly before: Answer | null }
    }
  | { readonly kind: 'tried' | 'put-off'; readonly members: readonly string[] }

const MOST_WHY = 4
const KEYS_LOOK = 'y yes, n no, c cannot check, b back, w why, f facts, q quit'
const KEYS_REPAIR = 'Has it helped? y yes, n no, c cannot be done now, b back, w why, f facts, q quit'
const KEYS_ASK = 'b back, w why, f facts, q quit'

/**
 * Asks until a repair has helped, nothing is left that explains it, or the person has had enough.
 * @param symptom asked for where it is missing
 * @param keep called once, after a repair has helped
 * @throws BadInput for what cannot be diagnosed, and where the input ends before a symptom is chosen
 */
export async function talk(
  terminal: Terminal,
  given: Given,
  symptom: SymptomId | undefined,
  keep: Keep = async () => [],
): Promise<Ending> {
  if (symptom !== undefined) return await new Conversation(terminal, given, symptom, keep).hold()
  for (;;) {
    const chosen = await chooseSymptom(terminal)
    if (chosen === 'quit') return EXIT.negative
    const route = given.route ?? (await chooseRoute(terminal, chosen))
    if (route === 'quit') return EXIT.negative
    const ending = await new Conversation(terminal, { ...given, route }, chosen, keep).hold(true)
    if (ending !== 'other-symptom') return ending
  }
}

class Conversation {
  readonly #terminal: Terminal
  readonly #given: Given
  readonly #symptom: SymptomId
  readonly #route: Route
  readonly #table: TableModel | undefined
  readonly #keep: Keep
  readonly #steps: Step[] = []

  constructor(terminal: Terminal, given: Given, symptom: SymptomId, keep: Keep) {
    this.#keep = keep
    this.#terminal = terminal
    this.#given = given
    this.#symptom = symptom
    this.#route = routeOf({ symptom, route: given.route })
    this.#table = modelTable(given.bench, given.receiverId, this.#route)
  }

  hold(): Promise<Ending>
  hold(canGoBack: true): Promise<Ending | 'other-symptom'>
  async hold(canGoBack = false): Promise<Ending | 'other-symptom'> {
    let diagnosis = this.#diagnose()
    this.#greet(diagnosis)
    let isNew = true
    for (;;) {
      if (isNew) this.#propose(diagnosis)
      const line = await this.#terminal.hear(keysOf(diagnosis.next))
      if (line === undefined || line === 'q' || line === 'quit') return this.#end(diagnosis)
      const helped = helpedBy(line, diagnosis.next)
      if (helped !== undefined) return this.#end(diagnosis, helped)
      if (isBack(line) && this.#steps.length === 0 && canGoBack) return 'other-symptom'
      isNew = this.#take(line, diagnosis)
      if (isNew) diagnosis = this.#diagnose()
    }
  }

  #answered(): Answered {
    let known: Answered = { answers: this.#given.answers, confirmed: [] }
    for (const step of this.#steps)
      if (step.kind === 'answer')
        known = step.second
          ? answered(known, step.fact, step.answer, step.second.before)
          : overruled(known, step.fact, step.answer)
    return known
  }

  #saidHere(): ReadonlySet<string> {
    return new Set(this.#steps.flatMap(step => (step.kind === 'answer' ? [step.fact] : [])))
  }

  /** Causes that were put right in vain, or that cannot be put right now. */
  #set(kind: 'tried' | 'put-off'): string[] {
    const before = kind === 'tried' ? this.#given.tried : this.#given.putOff
    const since = this.#steps.flatMap(step => (step.kind === kind ? step.members : []))
    return [...new Set([...before, ...since])]
  }

  #diagnose(): Diagnosis {
    const { answers, confirmed } = this.#answered()
    const request = {
      ...this.#given,
      symptom: this.#symptom,
      route: this.#route,
      answers: { ...answers },
      confirmed: [...confirmed],
      tried: this.#set('tried'),
      putOff: this.#set('put-off'),
    }
    return need(diagnose(request, { table: this.#table }))
  }

  #greet({ receiver, route, facts }: Diagnosis): void {
    const known = facts.filter(f => f.from === 'bench').length
    this.#terminal.say(
      `Diagnosis for ${receiver.nickname} (${receiver.id}), update by ${route === 'cable' ? 'cable' : 'air'}.`,
      ...(known > 0
        ? [
            `The bench answers ${known} of ${facts.length} questions already; type f to see them, NAME=yes or NAME=no to overrule one.`,
          ]
        : []),
    )
  }

  #propose({ next, facts }: Diagnosis): void {
    if (next.do === 'repair') return this.#terminal.say(...repairText(next))
    const fact = next.do === 'look' ? facts.find(f => f.id === next.fact) : undefined
    this.#terminal.say(...(fact === undefined ? ['', next.why] : factText(fact, next.why)))
  }

  /** @returns whether something has changed, so that the next step is to be worked out anew */
  #take(line: string, diagnosis: Diagnosis): boolean {
    const { next } = diagnosis
    if (isBack(line)) return this.#takeBack()
    if (line === 'w' || line === 'why') this.#terminal.say('', ...whyText(diagnosis, MOST_WHY))
    else if (line === 'f' || line === 'facts')
      this.#terminal.say('', ...factsText(diagnosis, this.#saidHere()))
    else {
      const step = stepOf(line, diagnosis)
      if (step !== undefined) {
        this.#steps.push(step)
        return true
      }
      this.#terminal.say(
        `“${line}” is not understood. Type one of: ${keysOf(next)}; or NAME=yes, NAME=no of a fact; or helped, same, cannot with the name of a cause.`,
      )
    }
    return false
  }

  #takeBack(): boolean {
    const step = this.#steps.pop()
    const words = step === undefined ? 'There is nothing to take back.' : `Taken back: ${stepWords(step)}`
    this.#terminal.say(words)
    return step !== undefined
  }

  /** @param helped the causes that were put right, after which it works */
  async #end(diagnosis: Diagnosis, helped?: readonly string[]): Promise<Ending> {
    const { bench, receiverId } = this.#given
    const situation = situationOf(bench, receiverId, this.#route, undefined)
    this.#terminal.say(
      ...stateText(diagnosis, { tried: this.#set('tried'), putOff: this.#set('put-off'), helped }),
      ...(helped ? [] : [nextText(diagnosis)]),
      'Before it flies:',
      ...(situation ? afterwardsFor(situation) : []).map(text => `  - ${text}`),
    )
    const { answers } = this.#answered()
    const said = { answers, tried: this.#set('tried') }
    if (helped) this.#terminal.say(...(await this.#keep(diagnosis, helped, said)))
    return diagnosis.causes.length > 0 ? EXIT.done : EXIT.negative
  }
}

const isYes = (line: string): boolean => line === 'y' || line === 'yes'
const isBack = (line: string): boolean => line === 'b' || line === 'back'

const keysOf = ({ do: kind }: NextStep): string =>
  kind === 'look' ? KEYS_LOOK : kind === 'repair' ? KEYS_REPAIR : KEYS_ASK

const ANSWERS: Readonly<Record<string, Answer>> = {
  y: 'yes',
  yes: 'yes',
  n: 'no',
  no: 'no',
  c: 'cannot-check',
  'cannot check': 'cannot-check',
  'cannot-check': 'cannot-check',
}

function stepOf(line: string, { next, facts }: Diagnosis): Step | undefined {
  for (const [word, kind] of Object.entries(aboutRepair)) {
    const members = causesAfter(word, line)
    if (members !== undefined) return { kind, members }
  }
  const [name, value] = line.split('=')
  if (value !== undefined) {
    const answer = answerSchema.safeParse(ANSWERS[value.trim()])
    const fact = findFact(name.trim())
    return fact && answer.success ? { kind: 'answer', fact: fact.id, answer: answer.data } : undefined
  }
  const answer = Object.hasOwn(ANSWERS, line) ? ANSWERS[line] : undefined
  if (answer === undefined) return undefined
  if (next.do === 'look') {
    const before = facts.find(f => f.id === next.fact)?.answer ?? null
    return { kind: 'answer', fact: next.fact, answer, ...(next.again ? { second: { before } } : {}) }
  }
  if (next.do !== 'repair' || answer === 'yes') return undefined
  return { kind: answer === 'no' ? 'tried' : 'put-off', members: next.members }
}

const aboutRepair: Readonly<Record<string, 'tried' | 'put-off'>> = { same: 'tried', cannot: 'put-off' }

/** Causes named after this word, several with a plus between them. */
function causesAfter(word: string, line: string): readonly string[] | undefined {
  const rest = line.startsWith(`${word} `) ? line.slice(word.length + 1) : ''
  const ids = rest.split('+').map(id => id.trim())
  return ids.every(id => findCause(id)) ? ids : undefined
}

/** The causes that were put right where the line says that it has helped. */
function helpedBy(line: string, next: NextStep): readonly string[] | undefined {
  return next.do === 'repair' && isYes(line) ? next.members : causesAfter('helped', line)
}

const stepWords = (step: Step): string => {
  if (step.kind === 'answer') return findFact(step.fact)?.question ?? step.fact
  const repairs = step.members.map(id => findCause(id)?.repair.label ?? id).join(' ')
  return `that this ${step.kind === 'tried' ? 'did not help' : 'cannot be done now'}: ${repairs}`
}
