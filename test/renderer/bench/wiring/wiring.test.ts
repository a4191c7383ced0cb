import { createElement } from 'react'
import { renderToStaticMarkup } from 'react-dom/server'
import { describe, expect, it } from 'vitest'
import {
  layOutWiring,
  linesBeside,
  PITCH,
  sayWiring,
  WIDTH,
} from '../../../../renderer/bench/wiring/layout.ts'
import { checkChosen, firstChoices } from '../../../../renderer/bench/wiring/use-wiring.ts'
import { WiringDrawing } from '../../../../renderer/bench/wiring/WiringDrawing.tsx'
import { WiringPanel } from '../../../../renderer/bench/wiring/WiringPanel.tsx'
import { sayVerdict, severityWords, verdictWords } from '../../../../renderer/bench/wiring/words.ts'
import { demoBench } from '../../../../shared/demo/bench.ts'
import { check, type WiringChange, wires } from '../../../support/wiring-bench.ts'

const bench = demoBench()
const drawn = (change: WiringChange = {}) => {
  const done = check(change)
  if (done.setup === undefined) throw new Error('the type is not known')
  return { ...done, setup: done.setup, layout: layOutWiring(done.setup, done.wires, () => 5) }
}
const markup = (change: WiringChange = {}, pin?: number) => {
  const { setup, pins, wires: states } = drawn(change)
  return renderToStaticMarkup(
    createElement(WiringDrawing, { setup, pins, wires: states, voltsOfAdapterPin: () => 5, pin }),
  )
}

describe('the drawing of a wiring', () => {
  it('has every pin of both connectors in order, the shorter one in the middle', () => {
    const { layout } = drawn()
    expect(layout.left.map(p => p.pin)).toEqual([1, 2, 3, 4])
    expect(layout.right.map(p => p.shape)).toEqual(['signal', 'positive', 'negative'])
    for (const side of [layout.left, layout.right])
      for (let i = 1; i < side.length; i++) expect(side[i].y - side[i - 1].y).toBe(PITCH)
    const centre = (side: { y: number }[]) => (side[0].y + side[side.length - 1].y) / 2
    expect(centre([...layout.left])).toBe(centre([...layout.right]))
    expect(layout.height).toBeGreaterThan(layout.left[3].y)
  })

  it('keeps wires that meet at one pin apart, and leaves out those to no pin', () => {
    const { layout } = drawn()
    const toSignal = layout.wires.filter(w => w.wire.to === 1)
    expect(new Set(toSignal.map(w => w.endY)).size).toBe(2)
    expect(layout.wires.find(w => w.wire.through === 'resistor')?.part).toBe('1 kΩ')
    expect(layout.wires.map(w => w.label)).toEqual(['ground', '5.0 V →', '5.0 V →', '← answers'])
    expect(drawn({ cable: { pinWires: wires([9, 1]) } }).layout.wires).toEqual([])
    for (const w of layout.wires) expect(w.middle.x).toBeLessThan(WIDTH)
  })

  it('says a wrong wire by line, shape and word, and points the pin out', () => {
    const swapped = { cable: { pinWires: wires([1, 2], [2, 3], [4, 1]) } }
    expect(markup(swapped).match(/wi-wire-wrong/g)).toHaveLength(2)
    expect(markup(swapped).match(/>wrong</g)?.length).toBeGreaterThanOrEqual(4)
    expect(markup()).not.toContain('wrong')
    expect(markup(swapped, 3)).toContain('wi-pointed')
    expect(markup(swapped)).not.toContain('wi-pointed')
  })

  it('breaks what a pin gets where it would run out of the drawing, and nowhere else', () => {
    expect(linesBeside('5.0 V at rest, into the receiver')).toEqual(['5.0 V at rest, into the receiver'])
    const held = linesBeside('held by the receiver, into the receiver')
    expect(held).toEqual(['held by the receiver,', 'into the receiver'])
    expect(linesBeside('nothing reaches it, and that is said at some length')[0]).toBe('nothing reaches it,')
  })

  it('is said in words too', () => {
    const { setup, pins, wires: states } = drawn({ cable: { pinWires: wires([1, 2], [2, 3], [4, 1]) } })
    const said = sayWiring(setup, pins, states)
    expect(said).toContain('2 (VCC) to 3 (-): 5.0 V into the receiver, wrong')
    expect(said).toContain('pin 1 S:')
    expect(sayWiring(setup, pins, [])).toContain('Wires: none')
  })
})

describe('the verdict', () => {
  const finding = (severity: 'danger' | 'block' | 'warn') => ({
    code: 'no-ground' as const,
    severity,
    why: '',
  })
  it('is of three kinds, danger before all', () => {
    expect(sayVerdict(false, [finding('danger'), finding('block')])).toMatchObject({
      kind: 'danger',
      text: expect.stringContaining('1 thing here would destroy'),
    })
    expect(sayVerdict(false, [finding('block'), finding('block')]).text).toMatch(
      /^2 things stand .* are not known/,
    )
    expect(sayVerdict(true, [finding('warn')]).kind).toBe('good')
  })

  it('has a word and a shape for each severity and each pin', () => {
    for (const words of [severityWords, verdictWords])
      expect(new Set(Object.values(words).map(w => w.word)).size).toBe(4)
    // What is refused does not look like what is only to be looked at.
    expect(severityWords.block.status).not.toBe(severityWords.warn.status)
  })
})

describe('what is chosen', () => {
  it('begins with the first adapter and the first cable for one', () =>
    expect(firstChoices(bench)).toEqual({
      adapterId: 'bench-programmer',
      cableId: 'programmer-cable',
      feed: 'through-cable',
    }))

  it('is checked as soon as there is an adapter and a cable, and not where one is gone', () => {
    expect(checkChosen(bench, 'wren-trainer', firstChoices(bench))?.safe).toBe(true)
    expect(checkChosen(bench, 'wren-trainer', { adapterId: 'bench-programmer' })).toBeUndefined()
    expect(checkChosen(bench, 'wren-trainer', { ...firstChoices(bench), cableId: 'gone' })).toBeUndefined()
  })

  it('is asked for on a bench without adapters in words that say where to add one', () => {
    const none = { ...bench, adapters: [] }
    const props = {
      bench: none,
      receiverId: 'wren-trainer',
      choices: {},
      onChoose: () => {},
      onChangeBench: () => {},
    }
    expect(renderToStaticMarkup(createElement(WiringPanel, props))).toContain('No adapter on this bench yet')
  })
})
