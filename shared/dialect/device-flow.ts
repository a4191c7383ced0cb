import { type Guard, type Program, programOf, type SectionId, type Way } from './device-program.ts'
import type { Dialect } from './schema.ts'
import type { ExpectStep, SendStep, WhenStep } from './schema-steps.ts'

/** Where an emulated receiver stands in its program: what it may hear next, and what it says then. */

export interface Place {
  readonly section: SectionId
  readonly unit: number
  readonly way: Way
  readonly item: number
}
export interface Candidate extends Place {
  readonly step: SendStep
  /** It is in the middle of this: half of it there means that the other half is waited for. */
  readonly midway: boolean
}
export interface Taken {
  /** What answers the message that was heard. */
  readonly answers: readonly ExpectStep[]
  /** What the next units say of themselves. */
  readonly further: readonly ExpectStep[]
  /** All that the receiver needs to know is known. */
  readonly complete: boolean
}

/** Whether a `when` holds, by what the receiver itself has said; undefined where that cannot be known yet. */
export type Holds = (when: WhenStep) => boolean | undefined

const ANY: readonly SectionId[] = ['erase', 'before', 'read', 'digest', 'identify', 'start', 'leave', 'enter']

type Mode = 'outside' | 'loader' | 'running'

export class Flow {
  mode: Mode
  /** Between the beginning of the writing and its end. */
  writing = false
  private readonly program: Program
  private readonly whenRunning: boolean
  private readonly anywhere: boolean
  private readonly holds: Holds
  /** The unit it stands in, and the item that comes next there; item 0 is before it. */
  private here: Place | undefined
  private pending: { readonly next: Place | undefined; readonly ended: readonly SectionId[] } | undefined

  /** @param anywhere a recorded exchange may begin anywhere and leave parts out */
  constructor(dialect: Dialect, holds: Holds, anywhere = false) {
    this.anywhere = anywhere
    this.program = programOf(dialect)
    this.whenRunning = dialect.identify?.whenRunning === true
    this.holds = holds
    this.mode = this.hears('enter') ? 'outside' : 'loader'
  }

  private units(section: SectionId): readonly (readonly Way[])[] {
    return this.program.get(section) ?? []
  }

  private hears(section: SectionId): boolean {
    return this.units(section).some(unit => unit.some(way => way.lastHeard >= 0))
  }

  /** Octets alone make it enter, or begin anew. */
  get canBeCalled(): boolean {
    return this.hears('enter') || this.hears('leave')
  }

  /** What may be heard now, the likeliest first. */
  candidates(): Candidate[] {
    const found: Candidate[] = []
    const { here } = this
    if (here !== undefined && here.item > 0) this.add(found, here, true)
    if (here !== undefined) {
      this.addUnit(found, here.section, here.item > 0 ? here.unit + 1 : here.unit)
      this.addUnit(found, here.section, here.item > 0 ? here.unit : here.unit - 1)
    }
    for (const section of this.admissible())
      for (let unit = 0; unit < this.units(section).length; unit++) this.addUnit(found, section, unit)
    return found
  }

  private addUnit(found: Candidate[], section: SectionId, unit: number): void {
    for (const way of this.units(section)[unit] ?? []) this.add(found, { section, unit, way, item: 0 }, false)
  }

  private add(found: Candidate[], place: Place, midway: boolean): void {
    const item = place.way.items[place.item]
    if (item === undefined || !('hear' in item) || !this.possible(place.way.guards)) return
    found.push({ ...place, step: item.hear, midway })
  }

  private possible(guards: readonly Guard[]): boolean {
    return guards.every(({ when, holds }) => {
      const is = this.holds(when)
      return is === undefined || is === holds
    })
  }

  private admissible(): SectionId[] {
    if (this.anywhere) return ['block', 'after', ...ANY]
    if (this.mode !== 'loader') return this.whenRunning ? ['enter', 'identify'] : ['enter']
    const direct = this.units('before').length === 0
    return [...(this.writing || direct ? (['block', 'after'] as const) : []), ...ANY]
  }

  /** A message was heard at this place. Nothing has changed until `commit`. */
  take(place: Place): Taken {
    const answers: ExpectStep[] = []
    const item = saysFrom(place.way, place.item + 1, answers)
    const complete = place.item === place.way.lastHeard
    if (item < place.way.items.length) {
      this.pending = { next: { ...place, item }, ended: [] }
      return { answers, further: [], complete }
    }
    const further: ExpectStep[] = []
    this.pending = this.after(place.section, place.unit + 1, further)
    return { answers, further, complete }
  }

  /** What follows a finished unit: units that begin with something the receiver says run on by themselves. */
  private after(section: SectionId, from: number, says: ExpectStep[]): NonNullable<typeof this.pending> {
    const units = this.units(section)
    for (let unit = from; unit < units.length; unit++) {
      const way = units[unit].find(({ items, guards }) => 'say' in items[0] && this.possible(guards))
      if (way === undefined) return { next: { section, unit, way: units[unit][0], item: 0 }, ended: [] }
      const item = saysFrom(way, 0, says)
      if (item < way.items.length) return { next: { section, unit, way, item }, ended: [] }
    }
    return { next: undefined, ended: [section] }
  }

  commit(): void {
    const { pending } = this
    if (pending === undefined) return
    this.pending = undefined
    this.here = pending.next
    for (const section of pending.ended) this.ended(section)
  }

  /** The message was turned down: its unit begins again. */
  retry(place: Place): void {
    this.pending = undefined
    this.here = place.section === 'block' ? undefined : { ...place, item: 0 }
  }

  /** Something was given up in the middle. */
  giveUp(): void {
    if (this.here !== undefined) this.retry(this.here)
  }

  private ended(section: SectionId): void {
    if (section === 'enter') this.mode = 'loader'
    if (section === 'enter' || section === 'after') this.writing = false
    if (section === 'before') this.writing = true
    if (section === 'start') this.mode = 'running'
    if (section === 'leave') this.reset()
  }

  /** As after power has come. */
  reset(): void {
    this.here = undefined
    this.pending = undefined
    this.writing = false
    this.mode = this.hears('enter') ? 'outside' : 'loader'
  }

  /** In its loader it may have to speak first. @returns what it says then */
  speaksFirst(): ExpectStep[] {
    if (this.mode !== 'loader') return []
    const first = (['identify', 'erase', 'before'] as const).find(section => this.units(section).length > 0)
    if (first === undefined) return []
    const says: ExpectStep[] = []
    const pending = this.after(first, 0, says)
    if (says.length === 0) return []
    this.pending = pending
    this.commit()
    return says
  }
}

/** Gathers what is said from an item on. @returns the item that is heard next, or the number of items */
function saysFrom(way: Way, from: number, says: ExpectStep[]): number {
  let item = from
  for (; item < way.items.length; item++) {
    const next = way.items[item]
    if ('hear' in next) break
    says.push(next.say)
  }
  return item
}
