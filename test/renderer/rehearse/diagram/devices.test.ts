import { describe, expect, it } from 'vitest'
import { devicesOf } from '../../../../renderer/rehearse/diagram/devices.ts'
import { deviceOfTalker, trafficIn } from '../../../../renderer/rehearse/diagram/traffic.ts'
import { makeSession } from '../../../../renderer/rehearse/timeline/session.ts'
import { demoBench } from '../../../../shared/demo/bench.ts'
import { fixtureReport, fixtureTrace } from '../../../support/rehearsal-fixture.ts'

const bench = demoBench()

describe('the devices around a receiver', () => {
  it('are all named, for every receiver and both routes', () => {
    for (const { id } of bench.receivers)
      for (const route of ['cable', 'wireless'] as const) {
        const devices = devicesOf(bench, id, route)
        expect([...devices.keys()]).toEqual([
          'radio',
          'card',
          'module',
          route === 'cable' ? 'cable' : 'air',
          'receiver',
          'supply',
          'sensor',
        ])
        for (const device of devices.values())
          expect(`${device.name}${device.line}`).not.toMatch(/undefined|NaN/)
      }
  })

  it('say what is missing and what is not known', () => {
    const bare = { ...bench, sensors: [], wiring: { ...bench.wiring, cableId: undefined } }
    expect(devicesOf(bare, 'wren-trainer', 'cable').get('cable')).toMatchObject({
      present: false,
      line: 'No cable on the bench',
    })
    expect(devicesOf(bare, 'wren-trainer', 'cable').get('sensor')?.present).toBe(false)
    expect(devicesOf(bench, 'wren-unmarked', 'cable').get('receiver')?.line).toBe(
      'Wren 6, firmware not known',
    )
  })

  it('name two supplies where the bench has two', () => {
    const both = { ...bench, wiring: { ...bench.wiring, cableFeed: 'both' as const } }
    expect(devicesOf(both, 'wren-trainer', 'cable').get('supply')?.line).toContain('and the cable too')
  })
})

describe('who speaks', () => {
  const trace = fixtureTrace({ imageBytes: 2048 })
  const session = makeSession(fixtureReport(trace, false), trace, new Uint8Array(524_288), 3.4)
  const { index } = session.lanes[0]

  it('is known at a moment', () => {
    expect([...trafficIn(session, index.startNs[0] + 5, index.startNs[0] + 5)]).toEqual(['radio'])
    expect([...trafficIn(session, index.endNs[0] + 5, index.endNs[0] + 5)]).toEqual([])
  })

  it('is gathered over a span, so that short bursts are seen in play', () => {
    expect([...trafficIn(session, 0, trace.endNs)].sort()).toEqual(['radio', 'receiver', 'sensor'])
  })

  it('counts whoever has a name of its own among the sensors', () => {
    expect(['radio', 'module', 'receiver', 'Vario in the trainer'].map(deviceOfTalker)).toEqual([
      'radio',
      'module',
      'receiver',
      'sensor',
    ])
  })
})
