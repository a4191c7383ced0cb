import type { RuleId } from '../fit/rule-ids.ts'
import { firstBroken } from '../fit/rules.ts'
import type { Situation } from '../fit/situation.ts'
import {
  ADDRESS,
  body,
  KIND,
  MAX_BODY,
  REFUSED,
  REPLY_BIT,
  refusalBody,
  refusalOf,
} from '../procedure/bus.ts'
import { FrameDecoder } from '../wire/hdlc.ts'
import type { Air, AirEnd } from './air.ts'
import { type Actor, type Kernel, msToNs } from './kernel.ts'
import type { Line, Listener } from './line.ts'
import type { TraceRecorder } from './trace.ts'

const TURNAROUND_NS = 150_000
const SEARCH_EVERY_NS = msToNs(20)
const SEARCH_TRIES = 60

const CODE_REPLY = 1
const CODE_SEARCH = 2

/**
 * The RF module in the radio: it looks for a receiver when it is told to and its rules hold, and passes frames for
 * the receiver on through the air.
 */
export class RfModule implements Actor, Listener, AirEnd {
  private readonly kernel: Kernel
  private readonly trace: TraceRecorder
  private readonly line: Line
  private readonly party: number
  private readonly air: Air
  private readonly situation: Situation
  private readonly decoder = new FrameDecoder(MAX_BODY)
  private readonly queue: Uint8Array[] = []
  private searchesLeft = 0
  /** Wake-ups of a search that is over count no more. */
  private searchRun = 0

  constructor(kernel: Kernel, trace: TraceRecorder, line: Line, air: Air, situation: Situation) {
    this.kernel = kernel
    this.trace = trace
    this.line = line
    this.air = air
    this.situation = situation
    this.party = line.attach('module', 'receiver', this)
    trace.device(0, 'module', 'ready', true)
  }

  hear(octets: Uint8Array, from: number, to: number): void {
    this.decoder.push(octets, from, to, this.onFrame, ignore)
  }

  /** A packet has come back from the receiver. */
  hearAir(frameBody: Uint8Array): void {
    if (this.searchesLeft > 0) {
      this.searchesLeft = 0
      if (frameBody[1] === REFUSED) {
        this.trace.device(this.kernel.nowNs, 'air', 'receiver refuses', false)
        return this.reply(refusalBody(ADDRESS.module, KIND.search, frameBody[3]))
      }
      this.trace.device(this.kernel.nowNs, 'air', 'receiver found', true)
      this.reply(body(ADDRESS.module, KIND.search | REPLY_BIT, [ADDRESS.receiver]))
      return
    }
    if (frameBody[1] === REFUSED || frameBody[0] === ADDRESS.receiver) this.reply(frameBody)
  }

  wake(code: number, run: number): void {
    if (code === CODE_REPLY) {
      const next = this.queue.shift()
      if (next) this.line.sendFrame(this.party, next)
      return
    }
    if (run === this.searchRun) this.search()
  }

  private readonly onFrame = (frame: Uint8Array, length: number) => {
    if (frame[0] === ADDRESS.receiver) this.air.fromModule(frame.slice(0, length))
    else if (frame[0] === ADDRESS.module && frame[1] === KIND.search) this.beginSearch()
  }

  private beginSearch(): void {
    const refused = firstBroken(this.situation, 'module')
    if (refused) return this.refuse(refused.rule.id, refused.sentence)
    // Asked again while it looks, it goes on looking: one search, one answer.
    if (this.searchesLeft > 0) return
    this.searchRun++
    this.trace.device(this.kernel.nowNs, 'air', 'looking for the receiver', true)
    this.searchesLeft = SEARCH_TRIES
    this.search()
  }

  private search(): void {
    if (this.searchesLeft <= 0) return
    this.searchesLeft--
    if (this.searchesLeft === 0) {
      this.trace.device(this.kernel.nowNs, 'air', 'nobody answers', false)
      return this.reply(body(ADDRESS.module, KIND.search | REPLY_BIT))
    }
    this.air.fromModule(body(ADDRESS.receiver, KIND.identify))
    this.kernel.after(SEARCH_EVERY_NS, this, CODE_SEARCH, this.searchRun)
  }

  private refuse(rule: RuleId, sentence: string): void {
    this.trace.event(this.kernel.nowNs, { kind: 'refused', by: 'module', rule, text: sentence })
    this.reply(refusalBody(ADDRESS.module, KIND.search, refusalOf(rule)))
  }

  private reply(frameBody: Uint8Array): void {
    this.queue.push(frameBody)
    this.kernel.after(TURNAROUND_NS, this, CODE_REPLY)
  }
}

const ignore = () => {}
