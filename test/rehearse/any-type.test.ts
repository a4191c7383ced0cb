import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { type Bench, checkBench } from '../../shared/model/bench.ts'
import { rehearse } from '../../shared/rehearse/rehearse.ts'
import { smallBench, smallRequest } from '../support/small-bench.ts'

/** Receivers as people may describe them on a bench of their own: slow lines, wide words, patient boot loaders. */
const receivers = fc.record({
  route: fc.constantFrom('cable' as const, 'wireless' as const),
  seed: fc.nat(0xffff),
  baud: fc.constantFrom(1200, 9600, 57_600, 115_200, 420_000, 3_000_000),
  turnaroundMicros: fc.constantFrom(0, 200, 5000, 100_000),
  programAddress: fc.constantFrom(0, 0x0800_4000, 0xffff_e000),
  pageBytes: fc.constantFrom(128, 1024, 8192),
  wordBytes: fc.constantFrom(2 as const, 4 as const, 8 as const),
  eraseMs: fc.constantFrom(1, 40, 2000),
  programMicros: fc.constantFrom(1, 70, 1000),
  settleMs: fc.constantFrom(0, 120, 60_000),
  listenMs: fc.constantFrom(0, 400, 5000, 60_000),
  sensorOctets: fc.constantFrom(1, 64),
  sizeBytes: fc.integer({ min: 2048, max: 8192 }),
})

function benchWith(r: typeof receivers extends fc.Arbitrary<infer R> ? R : never): Bench {
  const small = smallBench()
  const [type, ...others] = small.catalogue.receiverTypes
  const bench = {
    ...small,
    catalogue: {
      ...small.catalogue,
      receiverTypes: [
        {
          ...type,
          boot: { ...type.boot, settleMs: r.settleMs, listenMs: r.listenMs },
          bus: { ...type.bus, baud: r.baud, turnaroundMicros: r.turnaroundMicros },
          flash: {
            ...type.flash,
            programAddress: r.programAddress,
            pageBytes: r.pageBytes,
            wordBytes: r.wordBytes,
            eraseMs: { least: r.eraseMs / 2, most: r.eraseMs },
            programMicros: { least: r.programMicros / 2, most: r.programMicros },
          },
        },
        ...others,
      ],
    },
    sensors: small.sensors.map(s => ({ ...s, replyOctets: r.sensorOctets })),
    images: small.images.map(i => (i.version === '2.4.0' ? { ...i, sizeBytes: r.sizeBytes } : i)),
  }
  const checked = checkBench(bench)
  if (!checked.ok) throw new Error(checked.problems[0].message)
  return checked.value
}

describe('a session without a fault', () => {
  it('succeeds at the first try for any receiver that a bench file can describe, octet for octet', () => {
    fc.assert(
      fc.property(receivers, r => {
        const done = rehearse(smallRequest({ bench: benchWith(r), route: r.route, seed: r.seed }))
        if (!done.ok) throw new Error(done.problems[0].message)
        expect(done.value.report).toMatchObject({
          outcome: 'updated',
          retries: 0,
          attempts: 1,
          flashEqualsImage: true,
        })
      }),
      { numRuns: 80, seed: 20261125 },
    )
  }, 30_000)
})
