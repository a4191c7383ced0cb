import type { LaneReport } from '../../shared/bench-run/lane.ts'
import { progressLine } from './write-text.ts'

/** The same note is told so often; after that only when it was noted ten, a hundred … times. */
const MOST_SAME = 3

type Note = LaneReport['notes'][number]

interface Out {
  readonly isTTY?: boolean
  write(text: string): unknown
}

/** Says how a write goes on: at a terminal one line that changes, elsewhere a line a step, and what is noted on the way. */
export class ProgressTeller {
  readonly #out: Out
  #step = ''
  #last: Note | undefined
  /** Why an attempt failed: if it was the last one, the end says it. */
  #held: Note | undefined
  /** How often notes came that differ in nothing but their numbers, as on a line with noise. */
  readonly #times = new Map<string, number>()

  constructor(out: Out) {
    this.#out = out
  }

  tell(lane: LaneReport): void {
    const notes = this.#newNotes(lane)
    // Steps may have gone by between two reports: what was noted in them comes before the one that is under way.
    const ofBefore = notes.filter(note => note.atMs < beginMs(lane))
    this.#tellNotes(ofBefore)
    this.#tellStep(lane)
    this.#tellNotes(notes.slice(ofBefore.length))
    if (lane.end === null) return
    if (this.#held !== undefined && lane.end.text.includes(this.#held.text)) this.#held = undefined
    this.#flush()
  }

  #tellNotes(notes: readonly Note[]): void {
    for (const note of notes) {
      this.#flush()
      if (note.level === 'danger') this.#held = note
      else this.#say(note)
    }
  }

  /** That another attempt is waited for is a note, where there is one. */
  #tellStep(lane: LaneReport): void {
    const step = lane.step + lane.attempt
    const isNew = step !== this.#step
    this.#step = step
    if (lane.end !== null) {
      if (this.#out.isTTY) this.#out.write('\n')
      return
    }
    if (lane.step === 'pause') return
    if (isNew) this.#flush()
    if (this.#out.isTTY) this.#out.write(`\r${progressLine(lane).padEnd(78)}`)
    else if (isNew) this.#out.write(`${progressLine(lane).trim()}\n`)
  }

  /** The oldest may be gone from the list. */
  #newNotes({ notes }: LaneReport): readonly Note[] {
    const last = this.#last
    const from =
      last === undefined ? 0 : notes.findLastIndex(n => n.atMs === last.atMs && n.text === last.text) + 1
    this.#last = notes.at(-1) ?? last
    return notes.slice(from).filter(note => note.level !== 'good')
  }

  #flush(): void {
    if (this.#held !== undefined) this.#say(this.#held)
    this.#held = undefined
  }

  #say({ text, level }: Note): void {
    const shape = text.replace(/\d+/g, '#')
    const times = (this.#times.get(shape) ?? 0) + 1
    this.#times.set(shape, times)
    const isMany = level === 'caution' && times > MOST_SAME
    if (isMany && !/^10+$/.test(String(times))) return
    const count = isMany ? ` This is so for the ${times}th time.` : ''
    this.#out.write(`${this.#out.isTTY ? '\n' : ''}  ${text}${count}\n`)
  }
}

/** When the step that is under way began; before everything where that is not told. */
function beginMs({ steps, step, attempt }: LaneReport): number {
  const last = steps.at(-1)
  return last?.step === step && last.attempt === attempt ? last.startMs : Number.NEGATIVE_INFINITY
}
