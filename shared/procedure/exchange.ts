import { encodeFrame, FrameDecoder, maxEncodedLength } from '../wire/hdlc.ts'
import { sentAgain } from './again-words.ts'
import { KIND, MAX_BODY, REFUSED, REPLY_BIT } from './bus.ts'
import type { Procedure } from './effects.ts'

/** One question, one answer, asked again when nothing comes back. */

export interface Asking {
  readonly timeoutMs: number
  /** How often it is asked at the most. */
  readonly tries: number
  /** What is sent, for people: a noun phrase within a sentence, as `sentAgain` takes it. */
  readonly what: string
  /** Address that the answer must come from; the one that was asked where left out. */
  readonly from?: number
  /** Tells the answer to this request from a late one to an earlier request of the same kind. */
  readonly answers?: (body: Uint8Array) => boolean
}

export type Answer =
  | { readonly got: 'reply'; readonly body: Uint8Array }
  | { readonly got: 'refusal'; readonly reason: number }
  | { readonly got: 'nothing' }

const requestNames = new Map<number, string>(Object.entries(KIND).map(([name, kind]) => [kind, name]))

/** Speaks frames over whatever the runner has at the other end. Keeps what was left over between two questions. */
export class Exchange {
  /** Repeats so far. */
  retries = 0
  private readonly decoder = new FrameDecoder(MAX_BODY)
  private readonly scratch = new Uint8Array(maxEncodedLength(MAX_BODY))
  private answer: Answer | undefined
  private wantedKind = 0
  private wantedFrom = 0
  private answers: (body: Uint8Array) => boolean = () => true;

  /** Asks, and asks again after each time-out. */
  *ask(request: Uint8Array, asking: Asking): Procedure<Answer> {
    this.wantedKind = request[1]
    this.wantedFrom = asking.from ?? request[0]
    this.answers = asking.answers ?? (() => true)
    const octets = this.scratch.slice(0, encodeFrame(request, request.length, this.scratch, 0))
    for (let tries = 1; tries <= asking.tries; tries++) {
      if (tries > 1) {
        this.retries++
        yield {
          do: 'say',
          event: {
            kind: 'retry',
            what: requestNames.get(request[1]) ?? 'request',
            tries,
            text: sentAgain(asking.what, 'nothing', tries, asking.tries),
          },
        }
      }
      this.answer = undefined
      this.decoder.reset()
      yield { do: 'send', octets }
      const result = yield { do: 'receive', until: this.until, timeoutMs: asking.timeoutMs }
      const answer = this.answer as Answer | undefined
      if (result.got !== 'timeout' && answer !== undefined) return answer
    }
    return { got: 'nothing' }
  }

  /** Tells without waiting for an answer: to everybody, nobody answers. */
  *tell(request: Uint8Array): Procedure<void> {
    yield { do: 'send', octets: this.scratch.slice(0, encodeFrame(request, request.length, this.scratch, 0)) }
  }

  /** Takes everything that comes, and stops at the answer; other talkers' frames are passed over. */
  private readonly until = (got: Uint8Array): number | false => {
    this.decoder.reset()
    this.decoder.push(got, 0, got.length, this.onFrame)
    return this.answer === undefined ? false : got.length
  }

  private readonly onFrame = (frame: Uint8Array, length: number) => {
    if (this.answer !== undefined || frame[0] !== this.wantedFrom) return
    if (frame[1] === (this.wantedKind | REPLY_BIT)) {
      const body = frame.slice(0, length)
      if (this.answers(body)) this.answer = { got: 'reply', body }
    } else if (frame[1] === REFUSED && frame[2] === this.wantedKind)
      this.answer = { got: 'refusal', reason: frame[3] }
  }
}
