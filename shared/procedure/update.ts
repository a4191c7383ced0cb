import type { RuleId } from '../fit/rule-ids.ts'
import type { ImageCard } from '../image/image-card.ts'
import { readImageCard } from '../image/image-card.ts'
import type { ReceiverType } from '../model/catalogue.ts'
import { isKnown, type Route } from '../model/units.ts'
import type { PhaseId } from '../sim/trace.ts'
import { CRC32_INIT, crc32Finish, crc32Update } from '../wire/checksum.ts'
import { sentInVain } from './again-words.ts'
import { announcementOf } from './announce.ts'
import {
  ADDRESS,
  announcementBody,
  body,
  eraseBody,
  firmwareShown,
  type Identity,
  KIND,
  MAX_WRITE_DATA,
  numberBody,
  readIdentity,
  readNumber,
  ruleOfRefusal,
  sayRefusal,
  typeCode,
  versionText,
  writeBody,
} from './bus.ts'
import type { FailureCode, Procedure } from './effects.ts'
import { type Answer, type Asking, Exchange } from './exchange.ts'
import { readPart, type StagedFile, StagingFailed, stageFiles, store } from './stage.ts'
import type { Timing } from './timing.ts'

/**
 * The update of one receiver, from putting the image on the card to asking the receiver what it runs. The same code
 * runs against the simulation and against hardware; see effects.ts.
 *
 * One attempt: check the image on the card, quiet the bus (or look for the receiver by air), enter the boot loader,
 * ask who is there, announce the image, erase, write, verify, make it valid, restart, ask again. An attempt that lost
 * contact is made a second time after a pause, from the check on: that a first write fails and a second one works is
 * common practice. What was refused is not tried again.
 */
export interface UpdatePlan {
  readonly route: Route
  readonly payloadPath: string
  readonly cardPath: string
  /** Files to put on the card first; none when they are there already. */
  readonly stage: readonly StagedFile[]
  readonly timing: Timing
  readonly baud: number
  readonly attempts: number
  readonly types: readonly ReceiverType[]
}

export interface UpdateResult {
  readonly ended: 'done' | 'failed'
  readonly attempts: number
  readonly retries: number
  readonly code: FailureCode | undefined
  readonly text: string
  /** What the receiver said of itself in its boot loader, the first time. */
  readonly before: Identity | undefined
  /** What the receiver said of itself at the end. */
  readonly identity: Identity | undefined
}

/** An attempt's end by failure. Caught in `updateReceiver` and nowhere else. */
class AttemptFailed extends Error {
  readonly code: FailureCode
  constructor(code: FailureCode, text: string) {
    super(text)
    this.name = 'AttemptFailed'
    this.code = code
  }
}

const WORTH_ANOTHER_TRY: readonly FailureCode[] = [
  'no-answer',
  'lost-contact',
  'verify-differs',
  'not-started',
  'refused',
  'not-found',
]
/** What a storage volume says no to, as the fit rule that it stands by. */
const cardRules: Partial<Record<FailureCode, RuleId>> = {
  'card-absent': 'card-present',
  'card-read-only': 'card-present',
  'card-full': 'card-room',
}
const READ_AHEAD_BYTES = 4096
/** The last write is filled up with erased octets to a whole number of the widest words. */
const WIDEST_WORD = 8

/** @returns how it ended; never throws what a device, card or line can cause */
export function* updateReceiver(plan: UpdatePlan): Procedure<UpdateResult> {
  const run = new UpdateRun(plan)
  let attempt = 0
  try {
    if (plan.stage.length > 0) yield* run.stage()
    for (attempt = 1; ; attempt++) {
      try {
        const identity = yield* run.attempt(attempt)
        return {
          ended: 'done',
          attempts: attempt,
          retries: run.retries(attempt),
          code: undefined,
          text: '',
          before: run.before,
          identity,
        }
      } catch (error) {
        if (!(error instanceof AttemptFailed)) throw error
        yield { do: 'say', event: { kind: 'attempt-failed', attempt, code: error.code, text: error.message } }
        if (attempt >= plan.attempts || !WORTH_ANOTHER_TRY.includes(error.code))
          return run.failed(attempt, error.code, error.message)
        yield {
          do: 'say',
          event: { kind: 'note', level: 'caution', text: 'Waiting, then trying once more from the start.' },
        }
        yield { do: 'wait', ms: plan.timing.pauseMs }
      }
    }
  } catch (error) {
    if (!(error instanceof StagingFailed)) throw error
    const rule = cardRules[error.code]
    if (rule) yield { do: 'say', event: { kind: 'refused', by: 'card', rule, text: error.message } }
    yield {
      do: 'say',
      event: { kind: 'attempt-failed', attempt: Math.max(1, attempt), code: error.code, text: error.message },
    }
    return run.failed(Math.max(1, attempt), error.code, error.message)
  }
}

/** 0.0.0 is said where nothing valid is in program flash, and of an image that does not state its version. */
function holding(firmware: Identity['firmware']): string {
  const version = versionText(firmware)
  return version === '0.0.0'
    ? 'The receiver holds no firmware that states its version; after a write that broke off it holds none.'
    : `The receiver holds firmware ${version}.`
}

class UpdateRun {
  private readonly exchange = new Exchange()
  private readonly plan: UpdatePlan
  private attemptNumber = 1
  before: Identity | undefined

  constructor(plan: UpdatePlan) {
    this.plan = plan
  }

  retries(attempts: number): number {
    return this.exchange.retries + attempts - 1
  }

  failed(attempts: number, code: FailureCode, text: string): UpdateResult {
    const { before } = this
    return {
      ended: 'failed',
      attempts,
      retries: this.retries(attempts),
      code,
      text,
      before,
      identity: undefined,
    }
  }

  *stage(): Procedure<void> {
    yield* this.phase('stage')
    yield* stageFiles(this.plan.stage)
  }

  *attempt(attempt: number): Procedure<Identity> {
    this.attemptNumber = attempt
    const { route } = this.plan
    yield* this.phase('check')
    const card = yield* this.check()
    if (route === 'cable') yield* this.quiet()
    else yield* this.search()
    yield* this.enter()
    const before = yield* this.identify()
    yield* this.begin(card)
    yield* this.erase(card, before)
    yield* this.write(card, before)
    yield* this.verify(card)
    yield* this.commit()
    return yield* this.restart(card)
  }

  private *phase(phase: PhaseId): Procedure<void> {
    yield { do: 'say', event: { kind: 'phase', phase, attempt: this.attemptNumber } }
  }

  private *progress(done: number, total: number): Procedure<void> {
    yield { do: 'say', event: { kind: 'progress', done, total } }
  }

  /** Reads the whole image once, so that a damaged one is found out before anything is erased. */
  private *check(): Procedure<ImageCard> {
    const { cardPath, payloadPath } = this.plan
    const size = yield* store({ op: 'size', path: cardPath })
    const text = yield* readPart(cardPath, 0, size.got === 'number' ? size.value : 0)
    const card = readImageCard(new TextDecoder().decode(text), cardPath)
    if (!card.ok) throw new AttemptFailed('image-damaged', card.problems[0].message)
    let state = CRC32_INIT
    let length = 0
    for (let offset = 0; offset < card.value.sizeBytes; offset += READ_AHEAD_BYTES) {
      const part = yield* readPart(payloadPath, offset, READ_AHEAD_BYTES)
      state = crc32Update(state, part)
      length += part.length
      yield* this.progress(length, card.value.sizeBytes)
    }
    if (length === card.value.sizeBytes && crc32Finish(state) === card.value.crc32) return card.value
    const text_ = 'The image on the card is damaged: it is not what its image card says.'
    yield { do: 'say', event: { kind: 'refused', by: 'radio', rule: 'image-intact', text: text_ } }
    throw new AttemptFailed('image-damaged', text_)
  }

  private *openLine(): Procedure<void> {
    const opened = yield { do: 'line', baud: this.plan.baud, parity: 'none', power: true }
    if (opened.got === 'failed')
      throw new AttemptFailed('no-answer', 'There is no line to the receiver with these settings.')
    if (opened.got !== 'refused') return
    yield { do: 'say', event: { kind: 'refused', by: 'radio', rule: opened.rule, text: opened.text } }
    throw new AttemptFailed('radio-refused', opened.text)
  }

  private *quiet(): Procedure<void> {
    yield* this.phase('quiet')
    yield* this.openLine()
    for (let i = 0; i < 3; i++) {
      yield* this.exchange.tell(body(ADDRESS.all, KIND.quiet, [120]))
      yield { do: 'wait', ms: 15 }
    }
  }

  private *search(): Procedure<void> {
    yield* this.phase('search')
    yield* this.openLine()
    const { searches } = this.plan.timing
    // A receiver that has just been switched on listens for a while before it starts what it holds.
    for (let i = 0; i < searches; i++) if (yield* this.searchOnce()) return
    throw new AttemptFailed('not-found', 'The module finds no receiver on the air.')
  }

  /** @returns whether the module has found the receiver */
  private *searchOnce(): Procedure<boolean> {
    const answer = yield* this.exchange.ask(body(ADDRESS.module, KIND.search), {
      timeoutMs: this.plan.timing.searchMs,
      tries: 1,
      what: 'the search for the receiver',
    })
    if (answer.got === 'refusal')
      throw new AttemptFailed(
        'not-offered',
        `The wireless update is not offered: ${sayRefusal(answer.reason)}.`,
      )
    if (answer.got === 'nothing') throw new AttemptFailed('no-answer', 'The module does not answer.')
    return answer.body.length >= 3
  }

  private *enter(): Procedure<void> {
    yield* this.phase('enter')
    const { shortMs, tries, settleMs } = this.plan.timing
    yield* this.must(body(ADDRESS.receiver, KIND.enter), {
      timeoutMs: shortMs + 80,
      tries: tries * 2,
      what: 'the call to its boot loader',
    })
    yield { do: 'wait', ms: settleMs }
  }

  private *identify(): Procedure<Identity> {
    yield* this.phase('identify')
    const identity = yield* this.whoAreYou(this.plan.timing.tries)
    this.before ??= identity
    if (!identity.inBootLoader)
      throw new AttemptFailed('refused', 'The receiver did not go into its boot loader.')
    yield {
      do: 'say',
      event: {
        kind: 'note',
        level: 'info',
        text: holding(identity.firmware),
      },
    }
    return identity
  }

  private *whoAreYou(tries: number): Procedure<Identity> {
    const answer = yield* this.must(body(ADDRESS.receiver, KIND.identify), {
      timeoutMs: this.plan.timing.shortMs,
      tries,
      what: 'the question what it is',
    })
    const identity = readIdentity(answer)
    if (identity === undefined || identity.pageBytes < 1 || identity.writeOctets < WIDEST_WORD)
      throw new AttemptFailed('refused', 'The receiver says nothing understandable about itself.')
    return identity
  }

  private *begin(card: ImageCard): Procedure<void> {
    yield* this.phase('begin')
    const type = this.plan.types.find(t => typeCode(t.id) === typeCode(card.typeId))
    yield* this.must(announcementBody(ADDRESS.receiver, announcementOf(card, type)), {
      timeoutMs: this.plan.timing.shortMs,
      tries: this.plan.timing.tries,
      what: 'the message that an image comes',
    })
  }

  /** Erases all of program flash, so that nothing of the old image is left behind the new one. */
  private *erase(card: ImageCard, identity: Identity): Procedure<void> {
    yield* this.phase('erase')
    const { erasePages, eraseMs, tries } = this.plan.timing
    const pages = Math.max(identity.programPages, Math.ceil(card.sizeBytes / identity.pageBytes))
    for (let first = 0; first < pages; first += erasePages) {
      const count = Math.min(erasePages, pages - first)
      yield* this.must(eraseBody(ADDRESS.receiver, first, count), {
        timeoutMs: eraseMs,
        tries,
        what: `the order to erase page ${first}`,
        answers: b => b[2] === first >> 8 && b[3] === (first & 0xff) && b[4] === count,
      })
      yield* this.progress(first + count, pages)
    }
  }

  private *write(card: ImageCard, identity: Identity): Procedure<void> {
    yield* this.phase('write')
    const most = Math.min(MAX_WRITE_DATA, Math.floor(identity.writeOctets / WIDEST_WORD) * WIDEST_WORD)
    const { sizeBytes } = card
    let ahead = new Uint8Array(0)
    let aheadFrom = 0
    for (let offset = 0; offset < sizeBytes; offset += most) {
      const wanted = Math.min(most, sizeBytes - offset)
      if (offset + wanted > aheadFrom + ahead.length) {
        aheadFrom = offset
        ahead = (yield* readPart(
          this.plan.payloadPath,
          offset,
          Math.ceil(READ_AHEAD_BYTES / most) * most,
        )) as Uint8Array<ArrayBuffer>
      }
      const part = ahead.subarray(offset - aheadFrom, offset - aheadFrom + wanted)
      yield* this.writeBlock(offset, part)
      yield* this.progress(offset + wanted, sizeBytes)
    }
  }

  private *writeBlock(offset: number, part: Uint8Array): Procedure<void> {
    const whole = Math.ceil(part.length / WIDEST_WORD) * WIDEST_WORD
    let data = part
    if (whole !== part.length) {
      data = new Uint8Array(whole).fill(0xff)
      data.set(part)
    }
    const { writeMs, tries } = this.plan.timing
    yield* this.must(writeBody(ADDRESS.receiver, offset, data), {
      timeoutMs: writeMs,
      tries,
      what: `the block at ${offset}`,
      answers: b => readNumber(b) === offset,
    })
  }

  private *verify(card: ImageCard): Procedure<void> {
    yield* this.phase('verify')
    const { digestMs, tries } = this.plan.timing
    const answer = yield* this.must(numberBody(ADDRESS.receiver, KIND.digest, card.sizeBytes), {
      timeoutMs: digestMs(card.sizeBytes),
      tries,
      what: 'the question whether it holds the image',
    })
    if (readNumber(answer) !== card.crc32)
      throw new AttemptFailed('verify-differs', 'What the receiver holds is not what was sent to it.')
  }

  private *commit(): Procedure<void> {
    yield* this.phase('commit')
    const { eraseMs, tries, shortMs } = this.plan.timing
    // A conversion also replaces the boot loader here, some pages long.
    yield* this.must(body(ADDRESS.receiver, KIND.commit), {
      timeoutMs: eraseMs * 12 + shortMs,
      tries,
      what: 'the order to make the image valid',
    })
  }

  private *restart(card: ImageCard): Procedure<Identity> {
    yield* this.phase('restart')
    const { shortMs, tries, restartMs } = this.plan.timing
    yield* this.must(body(ADDRESS.receiver, KIND.restart), {
      timeoutMs: shortMs,
      tries,
      what: 'the order to start',
    })
    yield { do: 'wait', ms: restartMs }
    const identity = yield* this.whoAreYou(tries)
    if (identity.inBootLoader)
      throw new AttemptFailed('not-started', 'The receiver stayed in its boot loader.')
    const runs = versionText(identity.firmware)
    const shown = isKnown(card.version) ? firmwareShown(identity.firmware, card.version) : undefined
    if (shown?.is === 'other')
      throw new AttemptFailed('not-started', `The receiver runs ${runs}, not ${card.version}.`)
    yield {
      do: 'say',
      event:
        shown?.is === 'cannot-say'
          ? { kind: 'note', level: 'caution', text: shown.why }
          : { kind: 'note', level: 'good', text: `The receiver runs firmware ${runs}.` },
    }
    return identity
  }

  /** Asks until there is an answer; no answer and a refusal both end the attempt. */
  private *must(request: Uint8Array, asking: Asking): Procedure<Uint8Array> {
    const answer: Answer = yield* this.exchange.ask(request, asking)
    if (answer.got === 'reply') return answer.body
    if (answer.got === 'nothing')
      throw new AttemptFailed(
        request[1] === KIND.enter ? 'no-answer' : 'lost-contact',
        sentInVain(asking.what, 'nothing'),
      )
    const rule = ruleOfRefusal(answer.reason)
    throw new AttemptFailed(
      rule ? 'image-refused' : 'refused',
      `The receiver refused ${asking.what}: ${sayRefusal(answer.reason)}.`,
    )
  }
}
