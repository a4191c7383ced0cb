import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  clampView,
  closestSpan,
  follow,
  levelOfView,
  nsAt,
  panBy,
  sayClock,
  sayMoment,
  saySpan,
  ticksOf,
  viewOfLevel,
  widestSpan,
  xOf,
  ZOOM_LEVELS,
  type ZoomUnits,
  zoomAbout,
} from '../../../../renderer/rehearse/timeline/viewport.ts'

const units: ZoomUnits = { endNs: 60e9, bitNs: 1e9 / 115_200, bitsPerCharacter: 10, frameNs: 6e6 }
const viewArb = fc.record({
  fromNs: fc.double({ min: -1e9, max: 61e9, noNaN: true }),
  spanNs: fc.double({ min: 1, max: 1e12, noNaN: true }),
})

describe('zooming', () => {
  it('keeps the moment under the pointer where it is, as long as no end is met', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.1, max: 0.9, noNaN: true }),
        fc.double({ min: 0.5, max: 2, noNaN: true }),
        (share, factor) => {
          const view = { fromNs: 20e9, spanNs: 1e9 }
          const anchorNs = nsAt(view, 800, share * 800)
          const next = zoomAbout(view, factor, anchorNs, units)
          expect(next.spanNs).toBeCloseTo(1e9 * factor, 0)
          expect(xOf(next, 800, anchorNs)).toBeCloseTo(share * 800, 4)
        },
      ),
    )
  })

  it('goes from the whole session to one bit and back in a finite number of turns', () => {
    let view = viewOfLevel('session', 0, units)
    for (let i = 0; i < 60; i++) view = zoomAbout(view, 1 / 1.5, 30e9, units)
    expect(view.spanNs).toBeCloseTo(closestSpan(units), 6)
    for (let i = 0; i < 60; i++) view = zoomAbout(view, 1.5, 30e9, units)
    expect(view).toEqual(viewOfLevel('session', 0, units))
  })

  it('never leaves the session and never goes closer than one bit', () => {
    fc.assert(
      fc.property(viewArb, fc.double({ min: -3, max: 3, noNaN: true }), (view, share) => {
        for (const v of [clampView(view, units), panBy(clampView(view, units), share, units)]) {
          expect(v.spanNs).toBeGreaterThanOrEqual(closestSpan(units))
          expect(v.spanNs).toBeLessThanOrEqual(widestSpan(units))
          expect(v.fromNs + v.spanNs).toBeGreaterThan(0)
          expect(v.fromNs).toBeLessThan(units.endNs)
        }
      }),
    )
  })

  it('has a view for each of its buttons and knows it again', () => {
    for (const level of ZOOM_LEVELS) {
      const view = viewOfLevel(level, 30e9, units)
      expect(levelOfView(view, units)).toBe(level)
      expect(xOf(view, 1, 30e9)).toBeGreaterThan(0)
      expect(xOf(view, 1, 30e9)).toBeLessThan(1)
    }
    expect(viewOfLevel('bit', 30e9, units).spanNs).toBeLessThan(3 * units.bitNs)
    expect(levelOfView({ fromNs: 0, spanNs: 1e9 }, units)).toBeUndefined()
  })

  it('follows the play head, but stands still when all is in view', () => {
    const view = viewOfLevel('frame', 10e9, units)
    const next = follow(view, 20e9, units)
    expect(xOf(next, 1, 20e9)).toBeCloseTo(xOf(view, 1, 10e9), 6)
    const whole = viewOfLevel('session', 0, units)
    expect(follow(whole, 50e9, units)).toBe(whole)
  })
})

describe('the time axis', () => {
  it('has round marks, in order, inside the view, and not too many', () => {
    fc.assert(
      fc.property(viewArb, fc.integer({ min: 2, max: 20 }), (raw, most) => {
        const view = clampView(raw, units)
        const { stepNs, atNs } = ticksOf(view, most)
        expect(atNs.length).toBeLessThanOrEqual(most + 1)
        const mantissa = stepNs / 10 ** Math.floor(Math.log10(stepNs) + 1e-9)
        expect([1, 2, 5].some(m => Math.abs(m - mantissa) < 1e-6)).toBe(true)
        for (const at of atNs) {
          expect(at).toBeGreaterThanOrEqual(Math.max(0, view.fromNs - 1))
          expect(at).toBeLessThanOrEqual(view.fromNs + view.spanNs + 1)
        }
      }),
    )
  })

  it('says times in figures that fit', () => {
    expect([8680.6, 86_806, 1e9, 62.4e9, 5e6, 12].map(saySpan)).toEqual([
      '8.68 µs',
      '86.8 µs',
      '1.00 s',
      '62.4 s',
      '5.00 ms',
      '12 ns',
    ])
    expect([sayMoment(12_004_000_000, 1e6), sayMoment(12e9, 5e9), sayMoment(1.5e9, 5e8)]).toEqual([
      '12.004 s',
      '12 s',
      '1.5 s',
    ])
    expect([0, 12.44e9, 61e9, 59.96e9].map(sayClock)).toEqual(['0:00.0', '0:12.4', '1:01.0', '0:59.9'])
  })
})
