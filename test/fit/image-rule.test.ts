import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { builtFacts } from '../../shared/fit/built-facts.ts'
import { imageRule } from '../../shared/fit/image-rule.ts'
import { holds } from '../../shared/fit/rule.ts'
import { situationOf } from '../../shared/fit/situation.ts'

const demo = demoBench()
const image = builtFacts(demo.images[0], demo.catalogue.receiverTypes[0])
const small = imageRule({
  id: 'image-size',
  claim: 'It is small.',
  source: 'a test',
  severity: 'block',
  enforcedBy: 'receiver',
  looksAt: ['sizeBytes'],
  applies: s => s.image.sizeBytes > 0,
  check: s => holds(`${s.image.sizeBytes} octets.`, []),
})

describe('a rule about an image', () => {
  const facing = (facts: typeof image | undefined) => situationOf(demo, 'wren-trainer', 'cable', facts)!

  it('applies where there is an image, and where its own condition holds', () => {
    expect(small.applies(facing(image))).toBe(true)
    expect(small.applies(facing({ ...image, sizeBytes: 0 }))).toBe(false)
    expect(small.applies(facing(undefined))).toBe(false)
    expect(small.check(facing(image)).sentence).toBe(`${image.sizeBytes} octets.`)
  })

  it('cannot be asked without one', () =>
    expect(() => small.check(facing(undefined))).toThrow('image-size was asked without an image'))
})
