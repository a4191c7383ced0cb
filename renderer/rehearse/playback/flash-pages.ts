import { FLASH_OP, type FlashLog, type FlashOpKind } from '../../../shared/sim/trace.ts'

/**
 * What each page of one region of flash is at a moment. `before`: not touched yet, holds what it held before the
 * session; `blank`: not touched and reads FF.
 */
export const PAGE_STATES = ['blank', 'before', 'erasing', 'erased', 'writing', 'written', 'torn'] as const
export type PageState = (typeof PAGE_STATES)[number]

export const pageStateWords: Readonly<Record<PageState, string>> = {
  blank: 'blank',
  before: 'as before',
  erasing: 'being erased',
  erased: 'erased',
  writing: 'being written',
  written: 'written',
  torn: 'torn',
}

export type FlashRegionName = 'program' | 'record' | 'boot'

const regionOf = (kind: number): FlashRegionName =>
  kind === FLASH_OP.erase || kind === FLASH_OP.program
    ? 'program'
    : kind === FLASH_OP.recordErase || kind === FLASH_OP.recordProgram
      ? 'record'
      : 'boot'
const isErase = (kind: number): boolean =>
  ([FLASH_OP.erase, FLASH_OP.recordErase, FLASH_OP.bootErase] as FlashOpKind[]).includes(kind as FlashOpKind)

/** Follows one region along the play head: forwards it takes up where it was, backwards it starts again. */
export class FlashPages {
  readonly region: FlashRegionName
  readonly pageBytes: number
  readonly states: PageState[]
  /** Octets written into each page since it was last erased. */
  readonly writtenBytes: Uint32Array
  private readonly log: FlashLog
  private readonly initial: readonly PageState[]
  private next = 0
  /** Operations under way. */
  private pending: number[] = []
  private atNs = -1

  /**
   * @param blankAtEnd for each page whether it reads FF at the end of the session; a page that no operation touched
   * was that from the start
   */
  constructor(
    log: FlashLog,
    region: FlashRegionName,
    pages: number,
    pageBytes: number,
    blankAtEnd: (page: number) => boolean,
  ) {
    this.log = log
    this.region = region
    this.pageBytes = pageBytes
    const touched = touchedPages(log, region, pages, pageBytes)
    this.initial = Array.from({ length: pages }, (_, page) =>
      !touched[page] && blankAtEnd(page) ? 'blank' : 'before',
    )
    this.states = [...this.initial]
    this.writtenBytes = new Uint32Array(pages)
  }

  /** @returns true when anything may look different from the last call */
  moveTo(atNs: number): boolean {
    const before = this.atNs
    if (atNs === before) return false
    if (atNs < before) this.restart()
    this.atNs = atNs
    this.pending = this.pending.filter(op => !this.endIfOver(op))
    while (this.next < this.log.count && this.log.startNs[this.next] <= atNs) {
      const op = this.next++
      this.begin(op)
      if (!this.endIfOver(op)) this.pending.push(op)
    }
    return true
  }

  /** How many pages are in each state now. */
  count(): Record<PageState, number> {
    const counts = Object.fromEntries(PAGE_STATES.map(state => [state, 0])) as Record<PageState, number>
    for (const state of this.states) counts[state]++
    return counts
  }

  private restart(): void {
    this.next = 0
    this.pending = []
    for (let page = 0; page < this.states.length; page++) this.states[page] = this.initial[page]
    this.writtenBytes.fill(0)
  }

  private begin(op: number): void {
    const { log } = this
    if (regionOf(log.kind[op]) !== this.region) return
    for (const page of this.pagesOf(op)) {
      if (isErase(log.kind[op])) {
        this.states[page] = 'erasing'
        this.writtenBytes[page] = 0
      } else {
        const from = Math.max(log.offset[op], page * this.pageBytes)
        const to = Math.min(log.offset[op] + log.bytes[op], (page + 1) * this.pageBytes)
        this.writtenBytes[page] += to - from
        this.states[page] = 'writing'
      }
    }
  }

  /** An operation that has ended leaves its pages erased, written or torn. @returns whether it has ended */
  private endIfOver(op: number): boolean {
    const { log } = this
    if (log.endNs[op] > this.atNs) return false
    if (regionOf(log.kind[op]) !== this.region) return true
    const state = log.torn[op] ? 'torn' : isErase(log.kind[op]) ? 'erased' : 'written'
    for (const page of this.pagesOf(op)) this.states[page] = state
    return true
  }

  private *pagesOf(op: number): Generator<number> {
    const first = Math.floor(this.log.offset[op] / this.pageBytes)
    const last = Math.min(
      this.states.length - 1,
      Math.floor((this.log.offset[op] + this.log.bytes[op] - 1) / this.pageBytes),
    )
    for (let page = first; page <= last; page++) yield page
  }
}

function touchedPages(log: FlashLog, region: FlashRegionName, pages: number, pageBytes: number): Uint8Array {
  const touched = new Uint8Array(pages)
  for (let op = 0; op < log.count; op++) {
    if (regionOf(log.kind[op]) !== region) continue
    const last = Math.floor((log.offset[op] + log.bytes[op] - 1) / pageBytes)
    for (let page = Math.floor(log.offset[op] / pageBytes); page <= last && page < pages; page++)
      touched[page] = 1
  }
  return touched
}

/** Whether a page of these octets reads FF all over. */
export function isBlankPage(octets: Uint8Array, page: number, pageBytes: number): boolean {
  const end = Math.min(octets.length, (page + 1) * pageBytes)
  for (let i = page * pageBytes; i < end; i++) if (octets[i] !== 0xff) return false
  return true
}

/** Number of pages that any operation on this region reaches to. */
export function pagesReached(log: FlashLog, region: FlashRegionName, pageBytes: number): number {
  let most = 0
  for (let op = 0; op < log.count; op++)
    if (regionOf(log.kind[op]) === region)
      most = Math.max(most, Math.ceil((log.offset[op] + log.bytes[op]) / pageBytes))
  return most
}
