/**
 * A second model of an asynchronous line, written apart from the one under test: each talker's waveform is laid out
 * as levels on a grid of sixteen samples a bit, the wire is the lowest of them, and a receiver walks over the grid
 * with a counter, as a UART in hardware does.
 */
export interface Talk {
  readonly startNs: number
  readonly octets: readonly number[]
}

/** Start bit, data from bit 0 on, even parity where wanted, stop bit. */
export function bitsOf(octet: number, even: boolean): number[] {
  const data = Array.from({ length: 8 }, (_, i) => Number(((octet >> i) & 1) === 1))
  const ones = data.filter(bit => bit === 1).length
  return [0, ...data, ...(even ? [ones % 2] : []), 1]
}

/** What is heard of talkers who share a wire on which a low level wins. */
export function heardOnWire(talks: readonly Talk[], baud: number, even: boolean): number[] {
  const bitNs = 1e9 / baud
  const beginNs = Math.min(...talks.map(t => t.startNs))
  const waves = talks.map(t => ({ startNs: t.startNs, bits: t.octets.flatMap(o => bitsOf(o, even)) }))
  const endNs = Math.max(...waves.map(w => w.startNs + w.bits.length * bitNs))
  const samples: number[] = []
  const extra = 16 * 12
  for (let i = 0; i < ((endNs - beginNs) / bitNs) * 16 + extra; i++) {
    const atNs = beginNs + ((i + 0.5) * bitNs) / 16
    samples.push(
      waves.every(({ startNs, bits }) => (bits[Math.floor((atNs - startNs) / bitNs)] ?? 1) === 1) ? 1 : 0,
    )
  }
  return receive(samples, even)
}

function receive(samples: readonly number[], even: boolean): number[] {
  const octets: number[] = []
  const bitCount = even ? 11 : 10
  let state: 'idle' | 'start' | 'bits' | 'break' = 'idle'
  let counter = 0
  let bits: number[] = []
  for (const level of samples) {
    switch (state) {
      case 'idle':
        if (level === 0) {
          state = 'start'
          counter = 0
        }
        break
      case 'start':
        counter++
        if (counter === 7) {
          if (level === 1) {
            state = 'idle'
          } else {
            state = 'bits'
            counter = 0
            bits = [0]
          }
        }
        break
      case 'bits':
        counter++
        if (counter % 16 === 0) {
          bits.push(level)
          if (bits.length === bitCount) {
            const octet = bits.slice(1, 9).reduce((sum, bit, i) => sum + bit * 2 ** i, 0)
            const ones = bits.slice(1, 10).filter(bit => bit === 1).length
            if (level === 1 && (!even || ones % 2 === 0)) octets.push(octet)
            state = level === 1 ? 'idle' : 'break'
          }
        }
        break
      case 'break':
        if (level === 1) state = 'idle'
    }
  }
  return octets
}
