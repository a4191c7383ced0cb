import type { ReceiverType } from '../model/catalogue.ts'
import type { Dice } from './dice.ts'
import {
  checkErase,
  checkProgram,
  erase,
  eraseNs,
  type FlashRegion,
  program,
  programNs,
  tornErase,
  tornProgram,
} from './flash.ts'
import type { Actor, Kernel } from './kernel.ts'
import { FLASH_OP, type FlashOpKind, type TraceRecorder } from './trace.ts'
import type { CutPoint } from './world.ts'

type Operation = {
  readonly region: FlashRegion
  readonly kind: 'erase' | 'program'
  readonly page: number
  readonly offset: number
  readonly data: Uint8Array
  readonly startNs: number
  readonly endNs: number
}

const NO_DATA = new Uint8Array(0)
const OP_KINDS: Readonly<Record<FlashRegion['name'], { erase: FlashOpKind; program: FlashOpKind }>> = {
  program: { erase: FLASH_OP.erase, program: FLASH_OP.program },
  record: { erase: FLASH_OP.recordErase, program: FLASH_OP.recordProgram },
  boot: { erase: FLASH_OP.bootErase, program: FLASH_OP.bootProgram },
}
const CODE_FINISHED = 1
const CODE_CUT = 2

const isBlock = ({ region, kind }: Pick<Operation, 'region' | 'kind'>): boolean =>
  region.name === 'program' && kind === 'program'

/**
 * Carries out flash operations one at a time, in the time they take, and counts them: the fault sweep cuts the power
 * before, during or after any one of them.
 */
export class Flasher implements Actor {
  /** Operations begun so far. */
  operations = 0
  /** Blocks of program flash begun so far. */
  private blocks = 0
  private running: Operation | undefined
  private andThen: (() => void) | undefined
  private token = 0
  private readonly kernel: Kernel
  private readonly trace: TraceRecorder
  private readonly type: ReceiverType
  private readonly timing: Dice
  private readonly tearing: Dice
  private readonly cut: CutPoint | undefined
  private readonly onCut: () => void
  private readonly wornAt: number | undefined

  constructor(options: {
    kernel: Kernel
    trace: TraceRecorder
    type: ReceiverType
    timing: Dice
    tearing: Dice
    cut: CutPoint | undefined
    onCut: () => void
    /** One word from this octet of program flash on no longer takes every bit. */
    wornAt?: number
  }) {
    this.kernel = options.kernel
    this.trace = options.trace
    this.type = options.type
    this.timing = options.timing
    this.tearing = options.tearing
    this.cut = options.cut
    this.onCut = options.onCut
    this.wornAt = options.wornAt
  }

  erase(region: FlashRegion, page: number, then: () => void): void {
    checkErase(region, page)
    this.begin(
      { region, kind: 'erase', page, offset: page * region.pageBytes, data: NO_DATA },
      eraseNs(this.type.flash, this.timing),
      then,
    )
  }

  program(region: FlashRegion, offset: number, data: Uint8Array, then: () => void): void {
    checkProgram(region, offset, data, this.type.flash.wordBytes)
    const ns = programNs(this.type.flash, data.length, this.timing)
    this.begin({ region, kind: 'program', page: 0, offset, data }, ns, then)
  }

  /** Power is gone: what was under way is left half done. */
  powerFailed(): void {
    const op = this.running
    this.running = undefined
    this.andThen = undefined
    this.token++
    if (op === undefined) return
    const { nowNs } = this.kernel
    const done = Math.min(1, Math.max(0, (nowNs - op.startNs) / (op.endNs - op.startNs)))
    const { wordBytes } = this.type.flash
    if (op.kind === 'erase') tornErase(op.region, op.page, done, this.tearing)
    else tornProgram(op.region, op.offset, op.data, wordBytes, done, this.tearing)
    this.log(op, nowNs, true)
  }

  wake(code: number, argument: number): void {
    if (argument !== this.token) return
    if (code === CODE_CUT) return this.onCut()
    const op = this.running
    const then = this.andThen
    if (op === undefined || then === undefined) return
    this.running = undefined
    this.andThen = undefined
    if (op.kind === 'erase') erase(op.region, op.page)
    else {
      program(op.region, op.offset, op.data, this.type.flash.wordBytes)
      this.wear(op)
    }
    this.log(op, op.endNs, false)
    if (this.cutsHere('after', op)) return this.onCut()
    then()
  }

  /** A cell that has been written too often keeps the bit that erasing gave it. */
  private wear({ region, offset, data }: Operation): void {
    const { wornAt } = this
    if (wornAt === undefined || region.name !== 'program') return
    const from = Math.max(0, wornAt - offset)
    if (wornAt < offset || from >= data.length) return
    const at = data.findIndex((octet, i) => i >= from && octet !== 0xff)
    if (at < 0) return
    const written = region.octets[offset + at]
    region.octets[offset + at] = written | (written + 1)
  }

  private begin(op: Omit<Operation, 'startNs' | 'endNs'>, durationNs: number, then: () => void): void {
    this.operations++
    if (isBlock(op)) this.blocks++
    if (this.cutsHere('before', op)) return this.onCut()
    const startNs = this.kernel.nowNs
    this.running = { ...op, startNs, endNs: startNs + durationNs }
    this.andThen = then
    this.token++
    if (this.cutsHere('during', op))
      this.kernel.after(Math.round(durationNs * this.tearing.between(0.05, 0.95)), this, CODE_CUT, this.token)
    this.kernel.after(durationNs, this, CODE_FINISHED, this.token)
  }

  private cutsHere(when: 'before' | 'during' | 'after', op: Pick<Operation, 'region' | 'kind'>): boolean {
    const { cut } = this
    if (cut === undefined || cut.at === 'effect' || cut.when !== when) return false
    if (cut.at === 'flash-op') return cut.index === this.operations - 1
    return isBlock(op) && cut.index === this.blocks - 1
  }

  private log(op: Operation, endNs: number, torn: boolean): void {
    const bytes = op.kind === 'erase' ? op.region.pageBytes : op.data.length
    this.trace.flashOp(OP_KINDS[op.region.name][op.kind], op.offset, bytes, op.startNs, endNs, torn)
  }
}
