import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { withUnit } from '../../shared/fit/rule.ts'
import { checkFit } from '../../shared/fit/rules.ts'
import type { Bench } from '../../shared/model/bench.ts'
import type { Route } from '../../shared/model/units.ts'
import { rehearse } from '../../shared/rehearse/rehearse.ts'
import type { FaultChoice } from '../../shared/rehearse/report.ts'

/** Facts of the trade: common practice, no source. Each is held against the simulator or a rule. */

interface Session {
  readonly bench?: Bench
  readonly receiverId?: string
  readonly imageId?: string
  readonly route?: Route
  readonly faults?: FaultChoice[]
}

function session({
  bench = demoBench(),
  receiverId = 'wren-trainer',
  imageId = 'wren-6-2.4.0',
  route = 'cable',
  faults = [],
}: Session) {
  const done = rehearse({
    bench,
    receiverId,
    image: { kind: 'bench', imageId },
    route,
    seed: 1,
    faults,
    dropOutside: false,
  })
  if (!done.ok) throw new Error(done.problems[0].message)
  return done.value.report
}

const refusedBy = (report: ReturnType<typeof session>) =>
  report.events.filter(e => e.kind === 'refused').map(e => e.text)

describe('facts of the trade (common practice, no source)', () => {
  it('a cable write that fails the first time usually succeeds on the second try', () => {
    const report = session({ faults: [{ name: 'slow-settle' }] })
    expect(report.events.some(e => e.kind === 'attempt-failed')).toBe(true)
    expect(report).toMatchObject({ outcome: 'updated', attempts: 2, flashEqualsImage: true })
    const chatty = session({ faults: [{ name: 'chatty-sensor', value: '2' }] })
    expect(chatty).toMatchObject({ outcome: 'updated', attempts: 2 })
  })

  it('a factory-fresh receiver far from the module is refused by air, and taken after one update by cable', () => {
    const fresh = session({ receiverId: 'wren-new', route: 'wireless' })
    expect(fresh.outcome).toBe('unchanged')
    expect(refusedBy(fresh).join()).toContain('too new')
    expect(session({ receiverId: 'wren-new', route: 'cable' })).toMatchObject({ outcome: 'updated' })
    const after = withUnit(demoBench(), 'receivers', 'wren-new', { firmware: '2.3.0', factoryFresh: false })
    expect(session({ bench: after, receiverId: 'wren-new', route: 'wireless' }).outcome).toBe('updated')
  })

  it('a wireless update needs nothing at the receiver but power, so it may stay in the model', () => {
    const noCable: Bench = {
      ...demoBench(),
      cables: [],
      wiring: { cableFeed: 'own-supply', distanceMetres: 3 },
    }
    expect(session({ bench: noCable, route: 'wireless' }).outcome).toBe('updated')
    const noPower: Bench = {
      ...noCable,
      supplies: noCable.supplies.map(s => (s.id === 'regulator-6' ? { ...s, volts: 0 } : s)),
    }
    expect(session({ bench: noPower, route: 'wireless' }).outcome).toBe('unchanged')
  })

  it('by air it takes about as long as by cable, perhaps a little less: 0.6 to 1.1 of the time', () => {
    const both: [string, string][] = [
      ['wren-trainer', 'wren-6-2.4.0'],
      ['wren-pylon', 'wren-6-2.3.0'],
      ['curlew-survey', 'curlew-12-2.2.0'],
    ]
    for (const [receiverId, imageId] of both) {
      const cable = session({ receiverId, imageId }).simulatedMs
      const wireless = session({ receiverId, imageId, route: 'wireless' }).simulatedMs
      expect(wireless / cable, receiverId).toBeGreaterThan(0.6)
      expect(wireless / cable, receiverId).toBeLessThan(1.1)
    }
    const heron = withUnit(demoBench(), 'modules', 'inner-tarn', { generation: 2 })
    const of = (route: Route) =>
      session({ bench: heron, receiverId: 'heron-biplane', imageId: 'heron-8-1.7.0', route })
    expect(of('wireless').outcome).toBe('updated')
    const ratio = of('wireless').simulatedMs / of('cable').simulatedMs
    expect(ratio).toBeGreaterThan(0.6)
    expect(ratio).toBeLessThan(1.1)
  })

  for (const fault of ['module-off', 'module-band', 'module-generation'] as const)
    it(`with ${fault} the wireless update is not offered at all`, () => {
      const report = session({ route: 'wireless', faults: [{ name: fault }] })
      expect(report.outcome).toBe('unchanged')
      expect(refusedBy(report)).toHaveLength(1)
      const phases = report.events.filter(e => e.kind === 'phase').map(e => e.phase)
      expect(phases).toEqual(['stage', 'check', 'search'])
    })

  it('receivers of the newest generation cannot go back; some older ones are converted forward, by cable', () => {
    const converted = session({ receiverId: 'heron-biplane', imageId: 'heron-8-2.0.0' })
    expect(converted).toMatchObject({ outcome: 'updated', receiver: { firmwareAfter: '2.0.0' } })
    const after = withUnit(demoBench(), 'receivers', 'heron-biplane', { generation: 3, firmware: '2.0.0' })
    const back = session({ bench: after, receiverId: 'heron-biplane', imageId: 'heron-8-1.7.0' })
    expect(back.outcome).toBe('unchanged')
    expect(refusedBy(back).join()).toContain('cannot go back')
    const byAir = withUnit(demoBench(), 'modules', 'inner-tarn', { generation: 2 })
    expect(
      session({ bench: byAir, receiverId: 'heron-biplane', imageId: 'heron-8-2.0.0', route: 'wireless' })
        .outcome,
    ).toBe('unchanged')
  })

  it('updating a module neither adds nor removes a generation that its hardware has or lacks', () => {
    for (const firmware of ['0.1.0', '3.4.0', '99.0.0']) {
      const bench = withUnit(demoBench(), 'modules', 'early-fell', { firmware })
      const wren = {
        ...bench,
        receivers: bench.receivers.map(r => (r.id === 'wren-new' ? { ...r, boundTo: 'early-fell' } : r)),
      }
      const hardware = (id: string) =>
        checkFit(wren, id, 'wireless')!.find(f => f.rule.id === 'module-hardware')?.holds
      expect(hardware('wren-new')).toBe('no')
      expect(hardware('finch-boat')).toBe('yes')
    }
  })

  it('a receiver that is fed through the update cable must not get a second supply', () => {
    const report = session({ faults: [{ name: 'second-supply' }] })
    expect(report.findings.find(f => f.rule === 'one-supply')?.holds).toBe('no')
    expect(report.outcome).toBe('destroyed')
    expect(session({}).cautions.join()).toContain('One supply only')
  })

  it('no flight before failsafe and range check, and bind again after a conversion', () => {
    expect(session({}).afterwards.join()).toMatch(/failsafe.*Range check.*No flight/s)
    expect(session({ receiverId: 'heron-biplane', imageId: 'heron-8-2.0.0' }).afterwards[0]).toContain(
      'Bind again',
    )
  })
})
