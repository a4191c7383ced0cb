import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { builtFacts } from '../../shared/fit/built-facts.ts'
import { withSeen } from '../../shared/fit/identify.ts'
import { untypedFindings } from '../../shared/fit/untyped.ts'
import { UNKNOWN } from '../../shared/model/units.ts'

const bench = demoBench()
const unmarked = bench.receivers.find(r => r.id === 'flea-market')!
const [wren] = bench.catalogue.receiverTypes
const facts = builtFacts(bench.images[0], wren)
const sentenceAfter = (seen: Parameters<typeof withSeen>[2], image = facts) => {
  const on = withSeen(bench, unmarked, seen)
  const [[first, ...rest]] = untypedFindings(on, on.receivers.find(r => r.id === unmarked.id)!, 'cable', [
    image,
  ])
  expect(first.rule.id).toBe('image-type')
  return { holds: first.holds, sentence: first.sentence, evidence: first.evidence, rest: rest.length }
}

describe('the rule about the type, for a receiver of unknown type', () => {
  it('says that it may be one, and which it may be', () => {
    const { holds, sentence, evidence } = sentenceAfter({ outputs: 6 })
    expect(holds).toBe('unknown')
    expect(sentence).toBe('The image is for Aldwick Wren 6; the receiver may be one, or something else.')
    expect(evidence.at(-1)).toEqual({
      label: 'It may be',
      value: 'Aldwick Wren 6, Tamsin Heron 8',
      known: true,
    })
  })

  it('still waits for somebody to say so where only one type is left', () =>
    expect(sentenceAfter({ lengthMillimetres: 42 })).toMatchObject({
      holds: 'unknown',
      sentence:
        'Of the types on this bench the receiver can only be Aldwick Wren 6, but nobody has said yet that it is.',
    }))

  it('is broken by what was seen, and says what', () =>
    expect(sentenceAfter({ outputs: 8 })).toMatchObject({
      holds: 'no',
      sentence:
        'The receiver is not of the type that the image is for: Aldwick Wren 6 has 6 servo outputs; seen: 8 servo outputs.',
      rest: 0,
    }))

  it('is undecided where no type is left, or the image names none', () => {
    expect(sentenceAfter({ outputs: 7 }).holds).toBe('unknown')
    expect(sentenceAfter({}, { ...facts, typeId: UNKNOWN })).toMatchObject({ holds: 'unknown', rest: 0 })
    expect(sentenceAfter({}, { ...facts, typeId: 'of-another-bench' })).toMatchObject({ holds: 'unknown' })
  })
})
