import fc from 'fast-check'
import type { ImageFacts } from '../../shared/fit/situation.ts'

/** Anything that the rules may be shown of an image, much of it such as the demo's receivers can use. */
export const anyFacts: fc.Arbitrary<ImageFacts> = fc.record({
  typeId: fc.constantFrom('aldwick-wren-6', 'tamsin-heron-8', 'aldwick-finch-4', 'never-heard-of', 'unknown'),
  version: fc.constantFrom('1.0.0', '2.0.0-rc.1', '2.0.0', '2.3.0', '10.0.0', 'unknown'),
  sequenceNumber: fc.constantFrom(1, 2, 30, 'unknown' as const),
  generation: fc.constantFrom(1, 2, 3, 'unknown' as const),
  convertsFrom: fc.constantFrom(undefined, undefined, 1, 2),
  bands: fc.constantFrom(['2.4GHz'] as const, ['868MHz', '915MHz'] as const, 'unknown' as const),
  region: fc.constantFrom('lbt', 'hopping', 'any', 'unknown'),
  hardwareRevisions: fc.constantFrom(['A'], ['A', 'B'], ['A|B'], 'any' as const, 'unknown' as const),
  wirelessCapable: fc.constantFrom(true, false, 'unknown' as const),
  moduleFirmware: fc.constantFrom(undefined, '>=4.0.0 <7.0.0', '>=6.0.0', '<2.0.0'),
  radioSystem: fc.constantFrom(undefined, '>=3.0.0', '>=9.0.0'),
  receiverFirmware: fc.constantFrom(undefined, '>=1.0.0', '>=2.1.0 <3.0.0', '>=20.0.0'),
  programAddress: fc.constantFrom(0, 0x0800_4000),
  sizeBytes: fc.constantFrom(0, 2048, 100_000, 1_000_000),
  outsideBytes: fc.constantFrom(0, 0, 28),
  intact: fc.constantFrom(true, false, 'unknown' as const),
  label: fc.constantFrom('agrees', 'differs', 'none'),
  signature: fc.constantFrom(undefined, 'good', 'bad', 'missing', 'unknown-key'),
})
