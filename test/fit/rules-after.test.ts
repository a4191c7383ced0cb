import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { benchAfter } from '../../shared/fit/after.ts'
import { builtFacts } from '../../shared/fit/built-facts.ts'
import type { WithImage } from '../../shared/fit/image-rule.ts'
import { type Rule, withUnit } from '../../shared/fit/rule.ts'
import {
  bindTo,
  generationAfter,
  moduleAfter,
  moduleFor,
  type WithBoth,
} from '../../shared/fit/rules-after.ts'
import { afterRules } from '../../shared/fit/rules-others.ts'
import { signatureRules } from '../../shared/fit/rules-signature.ts'
import { stepRules } from '../../shared/fit/rules-step.ts'
import { type ImageFacts, situationOf } from '../../shared/fit/situation.ts'
import type { Bench } from '../../shared/model/bench.ts'

const demo = demoBench()

function facing(receiverId: string, imageId: string, change: Partial<ImageFacts> = {}, bench: Bench = demo) {
  const image = bench.images.find(i => i.id === imageId)
  if (image === undefined) throw new Error('no such image')
  const own = bench.catalogue.receiverTypes.find(t => t.id === image.typeId)
  const s = situationOf(bench, receiverId, 'cable', { ...builtFacts(image, own), ...change })
  if (s === undefined) throw new Error('no such receiver')
  return s as WithBoth
}
const named = (rules: readonly Rule[], id: string) => {
  const rule = rules.find(r => r.id === id)
  if (rule === undefined) throw new Error(`no rule ${id}`)
  return rule
}
const conversion = demo.images.find(i => i.convertsFrom !== undefined)
const conversionId = conversion?.id ?? ''

describe('what an update leaves', () => {
  it('is a receiver that runs the image, in its generation, no longer fresh', () => {
    const s: WithImage = facing('heron-biplane', conversionId)
    const unit = benchAfter(s).receivers.find(r => r.id === 'heron-biplane')
    expect(unit).toMatchObject({ firmware: '2.0.0', generation: 3, factoryFresh: false })
    // What the image does not say stays.
    const silent = benchAfter(facing('heron-biplane', conversionId, { generation: 'unknown' }))
    expect(silent.receivers.find(r => r.id === 'heron-biplane')?.generation).toBe(2)
  })
})

describe('the module afterwards', () => {
  it('has to be new enough for the image: it fits once the module runs what it needs', () => {
    const old = withUnit(demo, 'modules', 'inner-tarn', { firmware: '3.9.0' })
    const found = moduleAfter.check(facing('wren-trainer', 'wren-6-2.4.0', {}, old))
    expect(found).toMatchObject({
      holds: 'no',
      sentence: 'It fits once the module runs >=4.0.0 <7.0.0; now it runs 3.9.0.',
    })
    expect(found.remedies[0].apply(old).modules[0].firmware).toBe('4.0.0')
  })

  it('may be too new, and a prerelease counts by the same order', () => {
    for (const firmware of ['7.0.0', '7.0.1-rc.1', '9.0.0']) {
      const bench = withUnit(demo, 'modules', 'inner-tarn', { firmware })
      expect(moduleAfter.check(facing('wren-trainer', 'wren-6-2.4.0', {}, bench)).sentence).toContain(
        'too new',
      )
    }
  })

  it('is not asked of a receiver that flies with none yet', () => {
    const loose: Bench = {
      ...withUnit(demo, 'receivers', 'wren-trainer', { boundTo: undefined }),
      models: [],
    }
    expect(moduleAfter.applies(facing('wren-trainer', 'wren-6-2.4.0', {}, loose))).toBe(false)
  })

  it('may be of hardware that cannot transmit the generation then: another module is named where there is one', () => {
    const s = facing('heron-scale', conversionId)
    const found = generationAfter.check(s)
    expect(found.holds).toBe('no')
    expect(found.sentence).toContain('cannot transmit')
    const other = moduleFor(s, 3)
    expect(other && bindTo(s, other).label).toContain(other?.nickname)
    expect(generationAfter.applies(facing('wren-trainer', 'wren-6-2.4.0'))).toBe(false)
  })
})

describe('who is left behind', () => {
  const leaves = named(afterRules, 'leaves-behind')

  it('nobody, where the module can stay as it is', () => {
    expect(leaves.check(facing('wren-trainer', 'wren-6-2.4.0')).holds).toBe('yes')
  })

  it('those on the module that speak the generation which it has to leave', () => {
    // Two Herons on one module of generation 2; one is converted, and the module set for it.
    const bench = withUnit(
      withUnit(withUnit(demo, 'modules', 'inner-tarn', { generation: 2 }), 'receivers', 'heron-biplane', {
        boundTo: 'inner-tarn',
      }),
      'receivers',
      'heron-heli',
      { boundTo: 'inner-tarn' },
    )
    const found = leaves.check(facing('heron-biplane', conversionId, {}, bench))
    expect(found.holds).toBe('no')
    expect(found.sentence).toMatch(/^If you go on, .*Heron in the helicopter/)
  })
})

describe('a signature', () => {
  const wrong = named(signatureRules, 'image-signature')
  const said = named(signatureRules, 'image-signed')

  it('that is wrong blocks, one that is missing or by a stranger is said, a good one vouches', () => {
    const by = (signature: ImageFacts['signature']) => facing('wren-trainer', 'wren-6-2.4.0', { signature })
    expect([wrong.severity, said.severity]).toEqual(['block', 'warn'])
    expect(wrong.check(by('bad')).holds).toBe('no')
    expect(wrong.check(by('good')).holds).toBe('yes')
    expect(said.check(by('good')).holds).toBe('yes')
    expect(said.check(by('missing')).sentence).toContain('not signed')
    expect(said.check(by('unknown-key')).sentence).toContain('not among your trusted ones')
    expect([wrong.applies(by(undefined)), said.applies(by(undefined)), said.applies(by('bad'))]).toEqual([
      false,
      false,
      false,
    ])
  })
})

describe('a stepping stone', () => {
  const step = named(stepRules, 'stepping-stone')

  it('names the version to install first, from the images of the bench', () => {
    const found = step.check(facing('wren-trainer', 'wren-6-2.4.0', { receiverFirmware: '>=2.3.0' }))
    expect(found.holds).toBe('no')
    expect(found.remedies[0].label).toBe('Install 2.4.0 first, then this image.')
    const after = found.remedies[0].apply(demo)
    const then = facing('wren-trainer', 'wren-6-2.4.0', { receiverFirmware: '>=2.3.0' }, after)
    expect(step.check(then).holds).toBe('yes')
  })

  it('sends for another image where there is no way, and does not guess what the receiver runs', () => {
    expect(
      step.check(facing('wren-trainer', 'wren-6-2.4.0', { receiverFirmware: '>=5.0.0' })).remedies[0],
    ).toMatchObject({ otherImage: true })
    const unknown = withUnit(demo, 'receivers', 'wren-trainer', { firmware: 'unknown' })
    expect(
      step.check(facing('wren-trainer', 'wren-6-2.4.0', { receiverFirmware: '>=2.3.0' }, unknown)).holds,
    ).toBe('unknown')
    expect(step.applies(facing('wren-trainer', 'wren-6-2.4.0'))).toBe(false)
  })
})
