/**
 * Fills an image with code for an invented 16-bit controller. It is there to give an image the size, the structure
 * and the entropy of a program; nothing here executes it. Each word is operation (4 bits), register (4 bits),
 * operand (8 bits); high octet first.
 */

const OP = {
  none: 0,
  set: 1,
  load: 2,
  store: 3,
  add: 4,
  subtract: 5,
  multiply: 6,
  shift: 7,
  compare: 8,
  skipIfEqual: 9,
  jump: 10,
  call: 11,
  leave: 12,
  push: 13,
  pop: 14,
  upper: 15,
} as const

/** Where a step's operand comes from: itself, the function's number, the step's place, the image's version. */
type Operand = number | 'function' | 'place' | 'version'
type Step = readonly [op: number, register: number, operand: Operand]

/** What a function does; the comment is its whole specification. */
const BODIES: readonly (readonly Step[])[] = [
  // scale a stick reading to a pulse width
  [
    [OP.load, 1, 'function'],
    [OP.set, 2, 0xe8],
    [OP.upper, 2, 0x03],
    [OP.multiply, 1, 2],
    [OP.shift, 1, 10],
    [OP.add, 1, 'place'],
    [OP.store, 1, 'function'],
  ],
  // clamp to a range
  [
    [OP.load, 3, 'place'],
    [OP.compare, 3, 'function'],
    [OP.skipIfEqual, 3, 2],
    [OP.set, 3, 'function'],
    [OP.store, 3, 'place'],
  ],
  // take an octet into a checksum register
  [
    [OP.load, 4, 'place'],
    [OP.shift, 5, 8],
    [OP.add, 5, 4],
    [OP.load, 6, 'function'],
    [OP.subtract, 5, 6],
    [OP.store, 5, 'place'],
    [OP.jump, 0, 0xfa],
  ],
  // copy a frame
  [
    [OP.set, 7, 'place'],
    [OP.load, 8, 7],
    [OP.store, 8, 9],
    [OP.add, 7, 1],
    [OP.compare, 7, 'function'],
    [OP.skipIfEqual, 7, 1],
    [OP.jump, 0, 0xfb],
  ],
  // choose the next channel
  [
    [OP.load, 10, 'function'],
    [OP.add, 10, 'version'],
    [OP.compare, 10, 40],
    [OP.skipIfEqual, 10, 1],
    [OP.subtract, 10, 40],
    [OP.store, 10, 'function'],
  ],
  // wait for a timer tick
  [
    [OP.load, 11, 'place'],
    [OP.compare, 11, 'version'],
    [OP.skipIfEqual, 11, 1],
    [OP.jump, 0, 0xfd],
    [OP.none, 0, 0],
  ],
  // answer a telemetry poll
  [
    [OP.set, 12, 'function'],
    [OP.call, 0, 'place'],
    [OP.load, 13, 12],
    [OP.shift, 13, 4],
    [OP.call, 0, 'function'],
    [OP.store, 13, 'place'],
  ],
]

export interface CodeSpec {
  /** Three numbers. */
  readonly version: readonly number[]
  /** Stirs the order of the functions, so that two types do not have the same program. */
  readonly typeHash: number
}

/**
 * Writes functions into octets `from` up to `to`. Function f has body (f·stride + typeHash + patch) mod 7, where
 * stride is 1 + minor mod 6, runs that body 1 + (f + major) mod 3 times between a push and a leave, and ends on an
 * even multiple of four octets with the function's number as a literal.
 * @returns where each of the first functions begins, 63 at most
 */
export function writeCode(octets: Uint8Array, from: number, to: number, spec: CodeSpec): number[] {
  const [major, minor, patch] = spec.version
  const stride = 1 + (minor % 6)
  const versionOctet = (major * 59 + minor * 7 + patch) & 0xff
  const entries: number[] = []
  let at = from
  for (let f = 0; at + 2 <= to; f++) {
    if (entries.length < 63) entries.push(at)
    at = putWord(octets, at, to, (OP.push << 12) | (f & 0xff))
    const body = BODIES[(f * stride + spec.typeHash + patch) % BODIES.length]
    for (let round = (f + major) % 3; round >= 0; round--)
      for (let place = 0; place < body.length; place++) {
        const [op, register, operand] = body[place]
        const value =
          operand === 'function'
            ? f
            : operand === 'place'
              ? place + round * 16
              : operand === 'version'
                ? versionOctet
                : operand
        at = putWord(octets, at, to, (op << 12) | (register << 8) | (value & 0xff))
      }
    at = putWord(octets, at, to, (OP.leave << 12) | ((f >> 8) & 0xff))
    while ((at - from) % 4 !== 0 && at + 2 <= to) at = putWord(octets, at, to, 0)
    at = putWord(octets, at, to, (f >>> 16) & 0xffff)
    at = putWord(octets, at, to, f & 0xffff)
  }
  return entries
}

function putWord(octets: Uint8Array, at: number, to: number, word: number): number {
  if (at + 2 > to) return to
  octets[at] = word >> 8
  octets[at + 1] = word
  return at + 2
}
