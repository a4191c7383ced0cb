/**
 * The event kernel: a binary heap keyed by (time, order of scheduling). Time is integer nanoseconds, so nothing
 * drifts and the same seed gives the same bytes. Events are three numbers and an actor; nothing is allocated per event.
 */
export interface Actor {
  /** Called at the time asked for. `code` and `argument` are the actor's own business. */
  wake(code: number, argument: number): void
}

export const NS_PER_MS = 1_000_000
export const msToNs = (ms: number): number => Math.round(ms * NS_PER_MS)

export class Kernel {
  /** Now, in nanoseconds since the session began. */
  nowNs = 0
  private times = new Float64Array(64)
  private orders = new Float64Array(64)
  private codes = new Int32Array(64)
  private arguments_ = new Float64Array(64)
  private actors: (Actor | undefined)[] = new Array(64)
  private count = 0
  private order = 0

  /** Schedules a wake-up. @param atNs not before now */
  at(atNs: number, actor: Actor, code: number, argument = 0): void {
    if (atNs < this.nowNs) throw new Error(`an event at ${atNs} ns lies before now, ${this.nowNs} ns`)
    if (this.count === this.times.length) this.grow()
    const order = this.order++
    let i = this.count++
    while (i > 0) {
      const parent = (i - 1) >> 1
      if (this.times[parent] <= atNs) break
      this.move(parent, i)
      i = parent
    }
    this.put(i, atNs, order, code, argument, actor)
  }

  after(delayNs: number, actor: Actor, code: number, argument = 0): void {
    this.at(this.nowNs + delayNs, actor, code, argument)
  }

  /** Time of the next event, or Infinity. */
  get nextNs(): number {
    return this.count > 0 ? this.times[0] : Number.POSITIVE_INFINITY
  }

  /** Lets the next event happen. @returns false when there is none */
  step(): boolean {
    if (this.count === 0) return false
    const actor = this.actors[0]
    const code = this.codes[0]
    const argument = this.arguments_[0]
    this.nowNs = this.times[0]
    this.removeFirst()
    actor?.wake(code, argument)
    return true
  }

  /** Lets everything up to and including `untilNs` happen, and makes that now. */
  runTo(untilNs: number): void {
    while (this.nextNs <= untilNs) this.step()
    this.nowNs = Math.max(this.nowNs, untilNs)
  }

  private put(
    i: number,
    time: number,
    order: number,
    code: number,
    argument: number,
    actor: Actor | undefined,
  ): void {
    this.times[i] = time
    this.orders[i] = order
    this.codes[i] = code
    this.arguments_[i] = argument
    this.actors[i] = actor
  }

  private move(from: number, to: number): void {
    this.put(
      to,
      this.times[from],
      this.orders[from],
      this.codes[from],
      this.arguments_[from],
      this.actors[from],
    )
  }

  private before(a: number, b: number): boolean {
    return (
      this.times[a] < this.times[b] || (this.times[a] === this.times[b] && this.orders[a] < this.orders[b])
    )
  }

  private removeFirst(): void {
    const last = --this.count
    const time = this.times[last]
    const order = this.orders[last]
    const code = this.codes[last]
    const argument = this.arguments_[last]
    const actor = this.actors[last]
    this.actors[last] = undefined
    if (last === 0) return
    let i = 0
    for (;;) {
      let child = 2 * i + 1
      if (child >= last) break
      if (child + 1 < last && this.before(child + 1, child)) child++
      if (this.times[child] > time || (this.times[child] === time && this.orders[child] > order)) break
      this.move(child, i)
      i = child
    }
    this.put(i, time, order, code, argument, actor)
  }

  private grow(): void {
    const size = this.times.length * 2
    const wider = <A extends Float64Array | Int32Array>(old: A, next: A): A => {
      next.set(old as never)
      return next
    }
    this.times = wider(this.times, new Float64Array(size))
    this.orders = wider(this.orders, new Float64Array(size))
    this.codes = wider(this.codes, new Int32Array(size))
    this.arguments_ = wider(this.arguments_, new Float64Array(size))
    this.actors.length = size
  }
}
