import fc from 'fast-check'
import { expect, it } from 'vitest'
import { PortBuffer } from '../../shared/sim/port.ts'

it('the port buffer gives octets in the order in which they came, like an array, whatever its size', () => {
  const steps = fc.array(
    fc.oneof(
      fc.record({ hear: fc.uint8Array({ maxLength: 3000 }), from: fc.nat(20) }),
      fc.record({ take: fc.nat(4000) }),
      fc.constant({ clear: true as const }),
    ),
    { maxLength: 30 },
  )
  fc.assert(
    fc.property(steps, list => {
      const port = new PortBuffer()
      let model: number[] = []
      for (const step of list) {
        if ('hear' in step) {
          const from = Math.min(step.from, step.hear.length)
          port.hear(step.hear, from, step.hear.length)
          model.push(...step.hear.subarray(from))
        } else if ('take' in step) {
          const count = Math.min(step.take, model.length)
          expect([...port.take(count)]).toEqual(model.splice(0, count))
        } else {
          port.clear()
          model = []
        }
        expect(port.length).toBe(model.length)
        expect([...port.view]).toEqual(model)
      }
    }),
    { numRuns: 60 },
  )
})
