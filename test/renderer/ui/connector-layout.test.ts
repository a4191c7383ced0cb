import { renderToStaticMarkup } from 'react-dom/server'
import { describe, expect, it } from 'vitest'
import { ConnectorDrawing } from '../../../renderer/ui/ConnectorDrawing.tsx'
import { layOut, PITCH, sayConnector, sayKey } from '../../../renderer/ui/connector-layout.ts'
import { type Connector, pinRoleSchema } from '../../../shared/model/catalogue.ts'

const threePin: Connector = {
  id: 'three-pin',
  name: 'Three-pin plug',
  keyed: true,
  pins: [
    { name: 'S', role: 'signal' },
    { name: '+', role: 'positive' },
    { name: '-', role: 'negative' },
  ],
}

describe('a connector drawn', () => {
  it('has its pins in order from left to right, one pitch apart, inside the drawing', () => {
    for (const count of [1, 3, 16]) {
      const pins = Array.from({ length: count }, () => threePin.pins[0])
      const { width, pins: placed } = layOut({ ...threePin, pins })
      expect(placed.map(pin => pin.number)).toEqual(pins.map((_, i) => i + 1))
      for (const [i, pin] of placed.entries()) if (i > 0) expect(pin.x - placed[i - 1].x).toBe(PITCH)
      expect(placed[0].x).toBeGreaterThan(PITCH / 2)
      expect(placed[count - 1].x).toBeLessThan(width - PITCH / 2)
    }
  })

  it('is said in words too, key and all', () => {
    expect(sayConnector(threePin)).toBe(
      'Three-pin plug, seen on the mating face, from left to right with the key up: pin 1 marked S, signal; ' +
        'pin 2 marked +, positive; pin 3 marked -, negative. It has a key and goes in one way round only.',
    )
    expect(sayConnector({ ...threePin, name: ' ', keyed: 'unknown', pins: [] })).toBe(
      'Connector, seen on the mating face, from left to right: no pins yet. Whether it has a key is not known.',
    )
    expect(sayKey(false)).toContain('wrong way round')
  })

  it('cuts a long mark where the next pin begins, and bears one that is not typed yet', () => {
    const pins = [
      { name: 'telemetry bus', role: 'signal' as const },
      { name: '  ', role: 'not-used' as const },
    ]
    expect(layOut({ ...threePin, pins }).pins.map(pin => pin.mark)).toEqual(['teleme…', ''])
  })

  it('draws each role in a shape of its own, and points a pin out', () => {
    const draw = (role: Connector['pins'][number]['role'], highlight?: number[]) =>
      renderToStaticMarkup(
        ConnectorDrawing({ connector: { ...threePin, pins: [{ name: '', role }] }, highlight }),
      )
    const shape = (markup: string) => /<g [^>]*>(.*?)<\/g>/.exec(markup)?.[1]
    const roles = pinRoleSchema.options
    expect(new Set(roles.map(role => shape(draw(role)))).size).toBe(roles.length)
    expect(draw('signal')).not.toContain('ui-connector-pointed')
    expect(draw('signal', [1])).toContain('ui-connector-pointed')
  })
})
