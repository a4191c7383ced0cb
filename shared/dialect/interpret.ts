import type { Procedure } from '../procedure/effects.ts'
import { StagingFailed, stageFile } from '../procedure/stage.ts'
import { blockCountOf } from './blocks.ts'
import { firstOther } from './identity.ts'
import {
  type DialectPlan,
  failureCodeOf,
  type IdentityField,
  type Proof,
  type ReceiverState,
  type WriteEnd,
  type WriteFailure,
} from './plan.ts'
import { identifyAgain, same, verifyWritten } from './prove.ts'
import { AttemptFailed, DialectRun } from './run.ts'
import { writeBlocks } from './write-blocks.ts'

export { identifyByDialect, type ReadEnd, readByDialect } from './ask.ts'

/**
 * Writing, reading and asking by a dialect that is data. The steps are the dialect's; the order of things, what is
 * tried again and what is said about it are here, once for all of them.
 */

/** How far the receiver has been changed, by all attempts together. */
const CHANGED = [
  'as-before',
  'in-boot-loader',
  'partly-written',
  'written-not-proven',
] as const satisfies ReceiverState[]

/**
 * @returns how it ended; never throws what a receiver or a line can cause. Broken off by `return()`, it sends the
 * dialect's `leave` steps first.
 */
export function* writeByDialect(plan: DialectPlan): Procedure<WriteEnd> {
  const write = new DialectWrite(plan)
  const most = plan.attempts ?? plan.dialect.retries.attempts
  try {
    for (let attempt = 1; ; attempt++) {
      try {
        yield* write.attempt(attempt, most)
        return write.done(attempt)
      } catch (error) {
        if (!(error instanceof AttemptFailed)) throw error
        yield* write.sayFailed(attempt, error)
        if (error.final || attempt >= most) return write.failed(attempt, error.code, error.message)
        yield* write.pause()
      }
    }
  } finally {
    yield* write.leave()
  }
}

class DialectWrite {
  private readonly plan: DialectPlan
  private readonly run: DialectRun
  private changed = 0
  private state: ReceiverState = 'as-before'
  private proof: Proof = { verified: 'none', started: false, identified: false }
  private backup: Uint8Array | undefined
  private saidBefore: readonly IdentityField[] | undefined
  /** Why it could not show that it runs the image, though it was asked. */
  private unproven = ''

  constructor(plan: DialectPlan) {
    this.plan = plan
    const { dialect, baud, image, wordOctets } = plan
    this.run = new DialectRun({ dialect, baud, image: image.octets, fileName: image.fileName, wordOctets })
    const { c } = this.run
    c.imageAddress = image.address
    c.startAddress = plan.startAt ?? image.address
    c.blockCount = blockCountOf(dialect, image.octets.length)
  }

  *attempt(attempt: number, most: number): Procedure<void> {
    const { run, plan } = this
    run.speaker.after = { attempts: most - attempt, pauseMs: this.pauseMs }
    this.proof = { verified: 'none', started: false, identified: false }
    yield* run.enter(attempt)
    yield* this.identify()
    if (plan.backup && this.backup === undefined) yield* this.backUp(plan.backup)
    yield* this.erase()
    yield* this.write()
    if (plan.verify !== false) this.proof = { ...this.proof, verified: yield* verifyWritten(run) }
    if (plan.start !== false) yield* this.start()
    run.entered = false
  }

  *leave(): Procedure<void> {
    yield* this.run.leave()
  }

  *pause(): Procedure<void> {
    yield* this.run.leave()
    yield* this.run.note('caution', 'Waiting, then trying once more from the start.')
    yield { do: 'wait', ms: this.pauseMs }
  }

  private get pauseMs(): number {
    return this.plan.pauseMs ?? this.plan.dialect.retries.pauseMs
  }

  *sayFailed(attempt: number, { code, message: text }: AttemptFailed): Procedure<void> {
    yield { do: 'say', event: { kind: 'attempt-failed', attempt, code: failureCodeOf(code), text } }
  }

  done(attempt: number): WriteEnd {
    return this.end('done', attempt, undefined, this.unproven)
  }

  failed(attempt: number, code: WriteFailure, text: string): WriteEnd {
    if (code === 'verify-differs') this.changed = 2
    this.state = CHANGED[this.changed]
    return this.end('failed', attempt, code, text)
  }

  private end(
    ended: 'done' | 'failed',
    attempts: number,
    code: WriteFailure | undefined,
    text: string,
  ): WriteEnd {
    const { state, proof, backup, run } = this
    const retries = run.speaker.retries + attempts - 1
    return {
      ...{ ended, code, text, attempts, retries, state, proof, backup },
      ...{ saidBefore: this.saidBefore, waits: run.speaker.waits, identity: run.identity },
    }
  }

  private *identify(): Procedure<void> {
    if (this.run.dialect.identify === undefined) return
    yield* this.run.phase('identify')
    const identity = (yield* this.run.identify()) ?? []
    this.saidBefore ??= identity
    const other = firstOther(identity, this.plan.expectBefore)
    if (other === undefined) return
    const nothing = this.changed === 0 ? ' Nothing was changed.' : ''
    const text = `This is another receiver: its ${other.label} is ${other.is}, expected ${other.wanted}.${nothing}`
    throw new AttemptFailed('other-identity', text, true)
  }

  private *backUp(asked: NonNullable<DialectPlan['backup']>): Procedure<void> {
    const { run } = this
    if (run.dialect.read === undefined) return
    yield* run.phase('backup')
    const octets = new Uint8Array(asked.octets)
    try {
      yield* run.read(asked.address, asked.octets, (part, at) => octets.set(part, at))
    } catch (error) {
      if (!(error instanceof AttemptFailed) || error.code !== 'refused') throw error
      return yield* run.note('caution', `What is there cannot be backed up: ${error.message}`)
    }
    this.backup = octets
    if (asked.path !== undefined) yield* this.store(asked.path, octets)
  }

  private *store(path: string, octets: Uint8Array): Procedure<void> {
    try {
      yield* stageFile({ path, octets })
    } catch (error) {
      if (!(error instanceof StagingFailed)) throw error
      throw new AttemptFailed(
        error.code,
        `The backup cannot be kept: ${error.message} Nothing was changed.`,
        true,
      )
    }
  }

  private *erase(): Procedure<void> {
    const { run } = this
    const { erase } = run.dialect
    if (erase === undefined) return
    yield* run.phase('erase')
    const pages = erase.per === 'all' ? [0] : this.plan.pages
    const batch = erase.per === 'all' ? 1 : erase.batch
    for (let i = 0; i < pages.length; i += batch) {
      const { c } = run
      c.pages = pages.slice(i, i + batch)
      c.page = c.pages[0]
      c.pageCount = c.pages.length
      c.address = this.plan.image.address
      this.changed = 1
      yield* run.must(erase.steps)
      yield* run.progress(Math.min(i + batch, pages.length), pages.length)
    }
  }

  private *write(): Procedure<void> {
    const { run } = this
    const { before, block, after, onRepeat } = run.dialect.write
    if (before.length > 0) yield* run.phase('begin')
    yield* run.must(before)
    yield* run.phase('write')
    if (onRepeat === 'look') run.speaker.beforeRepeat = () => this.look()
    try {
      this.changed = 2
      yield* writeBlocks({ run, plan: this.plan, steps: block })
    } finally {
      run.speaker.beforeRepeat = undefined
    }
    yield* run.must(after)
    this.changed = 3
  }

  /** The block may be there and only the answer lost: then it must not be written again. */
  private *look(): Procedure<'say-again' | 'is-done'> {
    const { c, dialect } = this.run
    const { address, offset, length, data } = c
    const piece = dialect.read?.octets ?? length
    let there = true
    for (let at = 0; there && at < length; at += piece) {
      yield* this.run.readPart(address + at, Math.min(piece, length - at))
      there = same(c.received, data.subarray(at, at + c.received.length))
    }
    Object.assign(c, { address, offset, length })
    return there ? 'is-done' : 'say-again'
  }

  private *start(): Procedure<void> {
    const { run } = this
    const { start, identify } = run.dialect
    this.state = 'written-not-proven'
    if (start === undefined && identify?.whenRunning !== true) return
    yield* run.phase('restart')
    const went = yield* run.speaker.carryOut(start ?? [])
    this.proof = { ...this.proof, started: start !== undefined && went.went === 'ok' }
    if (identify?.whenRunning) {
      const { identified, why = '' } = yield* identifyAgain(run, this.plan.expectAfter)
      this.proof = { ...this.proof, identified }
      this.unproven = why
      if (identified) this.state = 'runs-new'
    } else if (!this.proof.started)
      yield* run.note('caution', 'The receiver did not answer to the order to start: switch it off and on.')
  }
}
