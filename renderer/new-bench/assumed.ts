/** What was taken for granted because nobody knows, and what was left open. Both are shown and kept in notes. */

export type Part = 'radio' | 'module' | 'receiver' | 'table'
export const PARTS: readonly Part[] = ['radio', 'module', 'receiver', 'table']
export const partWords: Readonly<Record<Part, string>> = {
  radio: 'Radio',
  module: 'Module',
  receiver: 'Receiver',
  table: 'Table and model',
}

export interface Assumption {
  readonly part: Part
  /** "Program flash". */
  readonly what: string
  /** "64 KiB from address 0". */
  readonly value: string
  /** Where the value comes from, where that is more than a common value. */
  readonly from?: string
}

const MOST_NOTE = 2000

export const sayAssumption = (a: Assumption): string =>
  `${a.what}: ${a.value}${a.from === undefined ? '' : ` (${a.from})`}`

/** Collects assumptions and open points while a bench is put together. */
export class Ledger {
  readonly assumed: Assumption[] = []
  readonly open: { readonly part: Part; readonly what: string }[] = []

  assume(part: Part, what: string, value: string, from?: string): void {
    this.assumed.push({ part, what, value, ...(from === undefined ? {} : { from }) })
  }

  leaveOpen(part: Part, what: string): void {
    this.open.push({ part, what })
  }

  /** The value that was answered, or the assumed one, written down as assumed. */
  orAssume<T>(
    answer: T | null | undefined,
    assumed: T,
    part: Part,
    what: string,
    value: string,
    from?: string,
  ): T {
    if (answer !== null && answer !== undefined) return answer
    this.assume(part, what, value, from)
    return assumed
  }

  /** The value that was answered, or `unknown`, written down as open. */
  orOpen<T>(answer: T | null | undefined, part: Part, what: string): T | 'unknown' {
    if (answer !== null && answer !== undefined) return answer
    this.leaveOpen(part, what)
    return 'unknown'
  }

  /** All that was assumed of one part, for its note. */
  note(part: Part): string {
    const said = this.assumed.filter(a => a.part === part).map(sayAssumption)
    const text = `Assumed, because nobody knows: ${said.join('; ')}.`
    return text.length <= MOST_NOTE ? text : `${text.slice(0, MOST_NOTE - 1)}…`
  }
}
