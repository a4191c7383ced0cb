import type { Procedure, SessionEvent } from '../procedure/effects.ts'
import { blockOctets, cutAt } from './blocks.ts'
import type { DialectPlan } from './plan.ts'
import type { DialectRun } from './run.ts'
import type { Step } from './schema-steps.ts'
import { type Exchange, exchangeOf } from './series.ts'
import type { Given } from './speak.ts'

/** Writes an image block by block: as a series as long as all goes well, where that is wanted, else one by one. */

export interface BlocksOptions {
  readonly run: DialectRun
  readonly plan: DialectPlan
  /** What the dialect does for each block. */
  readonly steps: readonly Step[]
}

/** Where a block is. */
interface Place {
  readonly number: number
  readonly offset: number
}

/** @throws AttemptFailed where a block does not go through */
export function* writeBlocks(o: BlocksOptions): Procedure<void> {
  const { run, plan } = o
  const total = plan.image.octets.length
  let place: Place = { number: plan.dialect.block.firstNumber, offset: 0 }
  while (place.offset < total) {
    const series = plan.inSeries ? seriesFrom(o, place) : undefined
    const given = series && (yield* series.run())
    place = series?.place ?? place
    if (place.offset >= total) return
    const next = goTo(o, place)
    yield* run.must(o.steps, given)
    place = next
    yield* run.progress(place.offset, total)
  }
}

/** Everything that is said from now on is about this block. @returns where the next one is */
function goTo({ run: { c }, plan }: BlocksOptions, { number, offset }: Place): Place {
  const { octets, address } = plan.image
  const cut = cutAt(plan.dialect, octets.length, offset, plan.wordOctets)
  c.block = number
  c.offset = offset
  c.address = address + offset
  c.length = cut.padded
  c.data = blockOctets(octets, offset, cut, plan.dialect.block.pad)
  return { number: number + 1, offset: offset + cut.real }
}

function seriesFrom(o: BlocksOptions, from: Place): BlockSeries | undefined {
  goTo(o, from)
  const exchange = exchangeOf(o.steps, o.run.speaker)
  return exchange && new BlockSeries(o, from, exchange)
}

/** As many blocks as go through at the first try. */
class BlockSeries {
  /** The first block that has not gone through. */
  place: Place
  private readonly o: BlocksOptions
  private readonly exchange: Exchange
  /** The block that is made next, and where those are that are under way. */
  private ahead: Place
  private readonly ends: Place[] = []

  constructor(o: BlocksOptions, from: Place, exchange: Exchange) {
    this.o = o
    this.exchange = exchange
    this.place = from
    this.ahead = from
  }

  /** @returns what came of the first block that did not go through, if it has been sent */
  *run(): Procedure<Given | undefined> {
    const { answer, timeoutMs, expect } = this.exchange
    answer.begin()
    const result = yield {
      ...{ do: 'series', until: answer.until, timeoutMs },
      next: () => this.next(),
      wentOn: () => this.wentOn(),
    }
    return result.got === 'done' ? undefined : { to: expect, result }
  }

  private next(): Uint8Array | undefined {
    const { o, exchange } = this
    if (this.ahead.offset >= o.plan.image.octets.length) return undefined
    const end = goTo(o, this.ahead)
    const now = exchangeOf(o.steps, o.run.speaker)
    // A block of another shape, as the last ones may be, is not of this series.
    if (now?.answer !== exchange.answer || now.timeoutMs !== exchange.timeoutMs) return undefined
    this.ahead = end
    this.ends.push(end)
    o.run.speaker.hasSent = true
    return o.run.speaker.octetsOf(now.send)
  }

  private wentOn(): SessionEvent | undefined {
    const { answer } = this.exchange
    const { wrong, reply } = answer
    if (wrong || (reply !== undefined && reply.means !== 'ok')) return undefined
    this.place = this.ends.shift() ?? this.place
    answer.begin()
    return { kind: 'progress', done: this.place.offset, total: this.o.plan.image.octets.length }
  }
}
