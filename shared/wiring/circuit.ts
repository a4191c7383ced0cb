/** Resistors and sources of direct current, solved by nodal analysis (Kirchhoff's current law at every node). */

export interface Resistor {
  readonly a: number
  readonly b: number
  readonly ohms: number
}

/** A voltage behind a resistance. */
export interface Source {
  readonly plus: number
  readonly minus: number
  readonly volts: number
  readonly ohms: number
}

export interface Circuit {
  /** Nodes are numbered from 0. */
  readonly nodes: number
  readonly resistors: readonly Resistor[]
  readonly sources: readonly Source[]
}

/** Less than this would make the equations ill conditioned; no contact is better. */
const LEAST_OHMS = 1e-3

const ohmsOf = (part: { readonly ohms: number }) => Math.max(part.ohms, LEAST_OHMS)

/** @returns for each node the lowest number among all that it hangs together with */
export function islands({ nodes, resistors, sources }: Circuit): number[] {
  const parent = Array.from({ length: nodes }, (_, i) => i)
  const root = (n: number): number => {
    let at = n
    while (parent[at] !== at) at = parent[at]
    return at
  }
  const join = (a: number, b: number) => {
    const [low, high] = [root(a), root(b)].sort((x, y) => x - y)
    parent[high] = low
  }
  for (const { a, b } of resistors) join(a, b)
  for (const { plus, minus } of sources) join(plus, minus)
  return parent.map((_, i) => root(i))
}

/** One equation a node: conductances, and the current that the sources push in. */
function equations({ nodes, resistors, sources }: Circuit) {
  const rows = Array.from({ length: nodes }, () => new Float64Array(nodes + 1))
  const stamp = (a: number, b: number, siemens: number) => {
    rows[a][a] += siemens
    rows[b][b] += siemens
    rows[a][b] -= siemens
    rows[b][a] -= siemens
  }
  for (const part of resistors) stamp(part.a, part.b, 1 / ohmsOf(part))
  for (const source of sources) {
    stamp(source.plus, source.minus, 1 / ohmsOf(source))
    rows[source.plus][nodes] += source.volts / ohmsOf(source)
    rows[source.minus][nodes] -= source.volts / ohmsOf(source)
  }
  return rows
}

/** Gauss and Jordan with the largest pivot. The rows are used up. */
function eliminate(rows: Float64Array[], size: number): number[] {
  for (let column = 0; column < size; column++) {
    let best = column
    for (let r = column + 1; r < size; r++)
      if (Math.abs(rows[r][column]) > Math.abs(rows[best][column])) best = r
    const pivotRow = rows[best]
    rows[best] = rows[column]
    rows[column] = pivotRow
    for (let r = 0; r < size; r++) {
      if (r === column) continue
      const factor = rows[r][column] / pivotRow[column]
      if (factor !== 0) for (let c = column; c <= size; c++) rows[r][c] -= factor * pivotRow[c]
    }
  }
  return Array.from({ length: size }, (_, i) => rows[i][size] / rows[i][i])
}

/**
 * Volts at every node.
 * @param references nodes at 0 V; of several that hang together the first counts
 * @returns undefined for a node that hangs together with no reference: nothing can be said of it
 */
export function solve(circuit: Circuit, references: readonly number[]): (number | undefined)[] {
  const island = islands(circuit)
  const grounds = new Map<number, number>()
  for (const node of references) if (!grounds.has(island[node])) grounds.set(island[node], node)
  const rows = equations(circuit)
  for (let node = 0; node < circuit.nodes; node++) {
    const ground = grounds.get(island[node])
    if (ground !== undefined && ground !== node) continue
    rows[node].fill(0)
    rows[node][node] = 1
  }
  const volts = eliminate(rows, circuit.nodes)
  return volts.map((v, node) => (grounds.has(island[node]) ? v : undefined))
}

/** Amperes out of the positive end of a source, at these volts of the nodes. */
export const currentOf = (source: Source, volts: readonly (number | undefined)[]): number =>
  (source.volts - ((volts[source.plus] ?? 0) - (volts[source.minus] ?? 0))) / ohmsOf(source)
