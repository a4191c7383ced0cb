import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { builtInDialects } from '../../shared/dialect/built-in/all.ts'
import { writeByDialect } from '../../shared/dialect/interpret.ts'
import { type ReceivePlan, receiveByXmodem } from '../../shared/dialect/receive-xmodem.ts'
import type { Dialect } from '../../shared/dialect/schema.ts'
import { dice } from '../../shared/sim/dice.ts'
import { imageOf, planOf } from '../support/dialect-rig.ts'
import { joinEnds } from '../support/two-ends.ts'

/** The sender that is data and the receiver that is code, which have nothing in common but the document. */
const dialectOf = (name: string) => builtInDialects().get(name) as Dialect
const receiving = (change: Partial<ReceivePlan> = {}): ReceivePlan => ({
  protocol: 'xmodem',
  check: 'crc',
  baud: 115_200,
  mostOctets: 1 << 20,
  ...change,
})
const padded = (octets: Uint8Array, to: number) => {
  const all = new Uint8Array(Math.ceil(octets.length / to) * to).fill(0x1a)
  all.set(octets)
  return all
}

describe('what is sent arrives', () => {
  it.each([
    ['xmodem-crc', 'crc', 300, 128],
    ['xmodem-crc', 'sum', 300, 128],
    ['xmodem-crc', 'crc', 128 * 300, 128],
    ['xmodem-1k', 'crc', 3000, 1024],
    ['xmodem-1k', 'crc', 300, 128],
    ['xmodem-1k', 'sum', 3000, 1024],
  ] as const)('%s, %s, %i octets', (name, check, bytes, pad) => {
    const image = imageOf(bytes)
    const { a, b } = joinEnds(
      writeByDialect(planOf(dialectOf(name), image)),
      receiveByXmodem(receiving({ check })),
    )
    expect(a).toMatchObject({ ended: 'done', attempts: 1, retries: 0 })
    expect(b).toMatchObject({ ended: 'done', files: [{ octets: padded(image, pad) }] })
  })

  it.each([false, true])('ymodem, name and length included; NAK to the first EOT: %s', nakFirstEot => {
    const image = imageOf(3000)
    const plan = receiving({ protocol: 'ymodem', nakFirstEot })
    const { a, b } = joinEnds(writeByDialect(planOf(dialectOf('ymodem'), image)), receiveByXmodem(plan))
    expect(a).toMatchObject({ ended: 'done', retries: 0 })
    expect(b).toEqual({ ended: 'done', files: [{ name: 'image.bin', octets: image }], repeats: 0 })
  })
})

describe('a bad line', () => {
  it.each(['xmodem-crc', 'xmodem-1k', 'ymodem'])(
    '%s: damage and loss are mended, or told; never taken',
    name => {
      let mended = 0
      for (let seed = 0; seed < 30; seed++) {
        const die = dice(seed, 'noise')
        const image = imageOf(3000, seed)
        const spoil = (octets: Uint8Array): Uint8Array => {
          if (die.next() > 0.15) return octets
          if (die.next() < 0.3) return octets.slice(0, Math.floor(die.next() * octets.length))
          const changed = octets.slice()
          changed[Math.floor(die.next() * changed.length)] ^= 1 << Math.floor(die.next() * 8)
          return changed
        }
        const { a, b } = joinEnds(
          writeByDialect(planOf(dialectOf(name), image, { attempts: 1 })),
          receiveByXmodem(receiving({ protocol: name === 'ymodem' ? 'ymodem' : 'xmodem' })),
          spoil,
        )
        if (b?.ended !== 'done' || b.files.length === 0) continue
        expect(b.files[0].octets.subarray(0, 3000)).toEqual(image)
        if (a?.ended === 'done') mended++
      }
      expect(mended).toBeGreaterThan(10)
    },
  )

  it('nobody there: both give up', () => {
    const { a, b } = joinEnds(
      writeByDialect(planOf(dialectOf('xmodem-crc'), imageOf(300), { attempts: 1 })),
      receiveByXmodem(receiving()),
      () => new Uint8Array(0),
    )
    expect(a).toMatchObject({ ended: 'failed', code: 'no-answer', state: 'as-before' })
    expect(b).toMatchObject({ ended: 'failed', text: 'No sender answered.' })
  })

  it('more than was agreed is cancelled, and the sender says who broke off', () => {
    const { a, b } = joinEnds(
      writeByDialect(planOf(dialectOf('xmodem-crc'), imageOf(3000), { attempts: 1 })),
      receiveByXmodem(receiving({ mostOctets: 1000 })),
    )
    expect(b).toMatchObject({ ended: 'failed' })
    expect(a).toMatchObject({ ended: 'failed', code: 'broken-off' })
  })

  it('whatever arrives, it comes to an end', () => {
    fc.assert(
      fc.property(
        fc.array(fc.uint8Array({ maxLength: 200 }), { maxLength: 40 }),
        fc.constantFrom('xmodem', 'ymodem'),
        (bursts, protocol) => {
          const procedure = receiveByXmodem(receiving({ protocol: protocol as 'xmodem' | 'ymodem' }))
          let at = 0
          let step = procedure.next()
          for (let effects = 0; !step.done; effects++) {
            expect(effects).toBeLessThan(20_000)
            const effect = step.value
            const got = effect.do === 'receive' ? bursts[at++] : undefined
            const taken = got && effect.do === 'receive' && got.length > 0 ? effect.until(got) : false
            const octets = got?.slice(0, taken || 0) ?? new Uint8Array(0)
            step = procedure.next(
              effect.do !== 'receive'
                ? { got: 'done' }
                : taken
                  ? { got: 'octets', octets }
                  : { got: 'timeout' },
            )
          }
          expect(step.value.ended).toMatch(/done|failed/)
        },
      ),
    )
  })
})
