export interface Measured {
  readonly what: string
  readonly value: string
  /** The number to reach, from design.md; empty where there is none. */
  readonly goal: string
  readonly reached: boolean
}

export function printTable(rows: readonly Measured[]): void {
  const wide = Math.max(...rows.map(r => r.what.length))
  const value = Math.max(...rows.map(r => r.value.length))
  for (const row of rows) {
    const mark = row.goal === '' ? '' : row.reached ? `reached (${row.goal})` : `NOT reached (${row.goal})`
    console.log(`${row.what.padEnd(wide)}  ${row.value.padStart(value)}  ${mark}`)
  }
}
