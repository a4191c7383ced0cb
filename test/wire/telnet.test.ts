import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { escapeData, MOST_PARAMETERS, parametersOctets, TelnetDecoder } from '../../shared/wire/telnet.ts'

function decode(pieces: readonly Uint8Array[]) {
  const data: number[] = []
  const said: string[] = []
  const decoder = new TelnetDecoder({
    data: octets => data.push(...octets),
    asking: (verb, option) => said.push(`${verb} ${option}`),
    parameters: (option, octets) => said.push(`${option}: ${[...octets]}`),
  })
  for (const piece of pieces) decoder.push(piece)
  return { data, said }
}
const cut = (octets: Uint8Array, at: readonly number[]): Uint8Array[] => {
  const places = [...new Set(at.map(a => a % (octets.length + 1)))].sort((a, b) => a - b)
  return [0, ...places].map((from, i) => octets.subarray(from, [...places, octets.length][i]))
}

describe('a telnet stream', () => {
  it('gives data and parameters back whole, wherever it is cut', () => {
    fc.assert(
      fc.property(
        fc.uint8Array({ maxLength: 60 }),
        fc.uint8Array({ maxLength: 30 }),
        fc.uint8Array({ maxLength: 60 }),
        fc.array(fc.nat(), { maxLength: 10 }),
        (before, parameters, after, at) => {
          const stream = Uint8Array.of(
            ...escapeData(before),
            ...parametersOctets(44, parameters),
            ...escapeData(after),
          )
          const { data, said } = decode(cut(stream, at))
          expect(data).toEqual([...before, ...after])
          expect(said).toEqual([`44: ${[...parameters]}`])
        },
      ),
    )
  })

  it('of random octets is never an error, and keeps no more than a bounded part', () => {
    fc.assert(
      fc.property(fc.array(fc.uint8Array({ maxLength: 400 }), { maxLength: 20 }), pieces => {
        const { data } = decode(pieces)
        expect(data.length).toBeLessThanOrEqual(pieces.reduce((sum, p) => sum + p.length, 0))
      }),
    )
    const { said } = decode([
      Uint8Array.of(255, 250, 44),
      new Uint8Array(100_000).fill(7),
      Uint8Array.of(255, 240),
    ])
    expect(said[0].split(',')).toHaveLength(MOST_PARAMETERS)
  })

  it('ends parameters that are not ended as they should be, and goes on', () => {
    expect(decode([Uint8Array.of(255, 250, 44, 1, 255, 251, 3, 65)])).toEqual({
      data: [65],
      said: ['44: 1', 'will 3'],
    })
  })
})
