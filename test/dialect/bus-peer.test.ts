import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { writeByBus } from '../../shared/dialect/bus-write.ts'
import { isProven } from '../../shared/dialect/plan.ts'
import { KIND, MAX_PAYLOAD, REFUSED, REPLY_BIT } from '../../shared/procedure/bus.ts'
import { benchImage } from '../../shared/rehearse/image.ts'
import { planFor, stagingOf } from '../../shared/rehearse/table.ts'
import { encodeFrame, maxEncodedLength } from '../../shared/wire/hdlc.ts'
import { smallBench } from '../support/small-bench.ts'

const bench = smallBench()
const [type] = bench.catalogue.receiverTypes
const made = benchImage(bench, type, 'wren-6-2.4.0')
if (!made.ok) throw new Error(made.problems[0].message)
const { payload, card } = made.value
const { timing, baud, types } = planFor(bench, type, 'cable', stagingOf(made.value, 'F'))

function frame(body: readonly number[]): Uint8Array {
  const out = new Uint8Array(maxEncodedLength(body.length))
  return out.slice(0, encodeFrame(Uint8Array.from(body), body.length, out, 0))
}
const bodies = fc
  .tuple(
    fc.constantFrom(0x10, 0x01, 0x20, 0xff),
    fc.constantFrom(...Object.values(KIND).map(kind => kind | REPLY_BIT), REFUSED, 0x00),
    fc.array(fc.nat(255), { maxLength: MAX_PAYLOAD + 4 }),
  )
  .map(([address, kind, rest]) => frame([address, kind, ...rest]))
const words = fc.array(fc.oneof(bodies, fc.uint8Array({ maxLength: 40 })), { minLength: 1, maxLength: 30 })

describe('a hostile peer on the bus', () => {
  it('whole frames or rubbish: nothing falls over, it comes to an end, and is never told to be updated', () => {
    fc.assert(
      fc.property(words, fc.integer({ min: 1, max: 5 }), (said, every) => {
        const procedure = writeByBus({ payload, card, timing, baud, types, attempts: 2 })
        let heard = 0
        let step = procedure.next()
        for (let effects = 0; !step.done; effects++) {
          if (effects > 200_000) throw new Error('it does not come to an end')
          const effect = step.value
          const octets = said[heard % said.length]
          const taken = effect.do === 'receive' && heard++ % every === 0 ? effect.until(octets) : false
          step = procedure.next(
            effect.do !== 'receive'
              ? { got: 'done' }
              : taken === false
                ? { got: 'timeout' }
                : { got: 'octets', octets: octets.slice(0, taken) },
          )
        }
        expect(isProven(step.value)).toBe(false)
      }),
      { numRuns: 300 },
    )
  }, 60_000)
})
