import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Route } from '../../shared/model/units.ts'
import { rehearse } from '../../shared/rehearse/rehearse.ts'
import {
  type FaultChoice,
  type RehearsalRequest,
  rehearsalReportSchema,
} from '../../shared/rehearse/report.ts'
import { FAULTS, type FaultName } from '../../shared/sim/faults.ts'
import { traceText } from '../../shared/sim/trace-text.ts'
import { smallRequest } from '../support/small-bench.ts'

function run(change: Partial<RehearsalRequest>) {
  const done = rehearse(smallRequest(change))
  if (!done.ok) throw new Error(done.problems.map(p => p.message).join(' '))
  return done.value
}

/** A session on the small bench takes about six seconds; what happens at a moment has to happen within them. */
const VALUE: Partial<Record<FaultName, string>> = {
  'power-cut': '1.0',
  'cable-loose': '1.0',
  'card-pulled': '0.3',
  // The small image needs little room; this is less.
  'card-full': '4',
}
const choice = (name: FaultName): FaultChoice => (VALUE[name] ? { name, value: VALUE[name] } : { name })

/** What each fault comes to by default, on each route; and what the session must have said on the way. */
const expected: Record<FaultName, { outcome: Partial<Record<Route, string>>; says: RegExp }> = {
  'chatty-sensor': { outcome: { cable: 'unchanged' }, says: /gave no answer/ },
  'slow-settle': {
    outcome: { cable: 'updated', wireless: 'updated' },
    says: /gave no answer to the order to erase page 0/,
  },
  'line-noise': { outcome: { cable: 'updated' }, says: /./ },
  'cable-loose': { outcome: { cable: 'needs-cable' }, says: /cable came loose/ },
  'supply-sag': { outcome: { cable: 'unchanged', wireless: 'unchanged' }, says: /supply fell to/ },
  'power-cut': {
    outcome: { cable: 'needs-cable', wireless: 'needs-cable' },
    says: /supply of the receiver was cut/,
  },
  'wrong-type': {
    outcome: { cable: 'unchanged', wireless: 'unchanged' },
    says: /receiver refuses: The image is for/,
  },
  'damaged-image': {
    outcome: { cable: 'unchanged', wireless: 'unchanged' },
    says: /radio refuses: .*damaged/,
  },
  'module-off': { outcome: { wireless: 'unchanged' }, says: /radio refuses: The module is switched off/ },
  'module-generation': { outcome: { wireless: 'unchanged' }, says: /module refuses: .*generation/ },
  'module-band': { outcome: { wireless: 'unchanged' }, says: /module refuses: .*868/ },
  'module-too-old': { outcome: { wireless: 'unchanged' }, says: /module refuses: .*too old/ },
  'module-too-new': { outcome: { wireless: 'unchanged' }, says: /module refuses: .*too new/ },
  'out-of-range': { outcome: { wireless: 'unchanged' }, says: /finds no receiver/ },
  'too-close': { outcome: { wireless: 'unchanged' }, says: /finds no receiver/ },
  interference: { outcome: { wireless: 'updated' }, says: /./ },
  'card-pulled': { outcome: { cable: 'needs-cable', wireless: 'needs-cable' }, says: /card was pulled/ },
  'card-full': { outcome: { cable: 'unchanged', wireless: 'unchanged' }, says: /card is full/ },
  'radio-battery-low': {
    outcome: { cable: 'unchanged', wireless: 'unchanged' },
    says: /radio refuses: The battery/,
  },
  'reversed-cable': { outcome: { cable: 'destroyed' }, says: /supply was reversed/ },
  'card-not-seated': {
    outcome: { cable: 'unchanged', wireless: 'unchanged' },
    says: /card refuses: .*no card|card/i,
  },
  'signal-wire-open': { outcome: { cable: 'unchanged' }, says: /gave no answer/ },
  'near-end-open': { outcome: { cable: 'unchanged' }, says: /gave no answer/ },
  'near-end-deaf': { outcome: { cable: 'unchanged' }, says: /gave no answer/ },
  'binding-lost': { outcome: { wireless: 'unchanged' }, says: /finds no receiver/ },
  // Two metres away there is so much signal that a broken antenna does not matter: range suffers, not the update.
  'antenna-damaged': { outcome: { wireless: 'updated' }, says: /./ },
  'receiver-dead': {
    outcome: { cable: 'destroyed', wireless: 'destroyed' },
    says: /gave no answer|finds no/,
  },
  'worn-flash': {
    outcome: { cable: 'needs-cable', wireless: 'needs-cable' },
    says: /not what was sent to it/,
  },
  'second-supply': { outcome: { cable: 'destroyed' }, says: /two supplies drove/ },
}

describe('every fault, on every route it is for', () => {
  for (const fault of FAULTS)
    for (const route of fault.routes)
      it(`${fault.name} by ${route} ends ${expected[fault.name].outcome[route]}`, () => {
        const { report } = run({ route, faults: [choice(fault.name)] })
        expect(report.outcome).toBe(expected[fault.name].outcome[route])
        expect(report.events.map(e => e.text).join('\n')).toMatch(expected[fault.name].says)
        rehearsalReportSchema.parse(report)
        if (report.outcome === 'updated' || report.outcome === 'destroyed') expect(report.recovery).toBeNull()
        else {
          expect(report.recovery?.rehearsed.outcome).toBe('updated')
          expect(report.recovery?.steps.map(s => s.text)).toContain(fault.cure)
        }
      })

  it('without any, by both routes, the simulated flash equals the image', () => {
    for (const route of ['cable', 'wireless'] as const) {
      const { report } = run({ route })
      expect(report).toMatchObject({ outcome: 'updated', retries: 0, attempts: 1, flashEqualsImage: true })
    }
  })

  it.each([
    [[], 'connected', true],
    [['signal-wire-open'], 'signal wire open', false],
    [['near-end-open'], 'no signal gets into it', false],
    [['reversed-cable'], 'supply reversed', false],
    [['near-end-deaf'], 'no answer is heard', false],
  ] as const)('with %j the cable is told as %s', (names, state, alive) => {
    const { trace } = run({ faults: names.map(choice) })
    const cable = trace.devices.filter(d => d.device === 'cable')
    expect(cable[0]).toMatchObject({ state, alive })
  })

  it('a module that listens first waits for an interferer, so it takes longer', () => {
    const quiet = run({ route: 'wireless' }).report.simulatedMs
    const busy = run({ route: 'wireless', faults: [{ name: 'interference', value: '40' }] }).report
      .simulatedMs
    expect(busy).toBeGreaterThan(quiet * 1.1)
  })

  it('noise costs repeats, more of it more of them', () => {
    const retries = (ber: string) => run({ faults: [{ name: 'line-noise', value: ber }] }).report.retries
    expect(retries('0')).toBe(0)
    expect(retries('0.0001')).toBeGreaterThan(0)
    expect(retries('0.0005')).toBeGreaterThan(retries('0.0001'))
  })
})

describe('two faults together', () => {
  it('each leaves its mark: the first attempt meets the one, the second the other', () => {
    const { report } = run({ faults: [{ name: 'slow-settle' }, { name: 'line-noise', value: '0.0002' }] })
    expect(report).toMatchObject({ outcome: 'updated', flashEqualsImage: true, attempts: 2 })
    const said = report.events.map(e => e.text).join('\n')
    expect(said).toMatch(/gave no answer to the order to erase page 0/)
    expect(report.retries).toBeGreaterThan(run({ faults: [{ name: 'slow-settle' }] }).report.retries)
  })

  it('the worse one decides: a module that is off hides that the image is damaged no longer than until it is read', () => {
    const both = run({
      route: 'wireless',
      faults: [{ name: 'module-off' }, { name: 'damaged-image' }],
    }).report
    const refused = both.events.filter(e => e.kind === 'refused').map(e => e.text)
    expect(refused).toHaveLength(1)
    expect(refused[0]).toMatch(/damaged/)
    expect(both.recovery?.steps.map(s => s.text)).toEqual(
      expect.arrayContaining(['Switch the module on.', 'Fetch the image again and put it on the card.']),
    )
    expect(both.recovery?.rehearsed.outcome).toBe('updated')
  })
})

describe('determinism', () => {
  const traced = (change: Partial<RehearsalRequest>) => traceText(run(change).trace)
  const noisy: FaultChoice[] = [{ name: 'line-noise', value: '0.0001' }, { name: 'slow-settle' }]

  it('gives the same trace for the same seed, another for another', () => {
    expect(traced({ faults: noisy })).toBe(traced({ faults: noisy }))
    expect(traced({ faults: noisy, seed: 2 })).not.toBe(traced({ faults: noisy }))
  })

  it('does not care in which order faults were chosen, even where both are about the same distance', () => {
    const distances: FaultChoice[] = [{ name: 'out-of-range', value: '700' }, { name: 'too-close' }]
    for (const change of [{ faults: noisy }, { route: 'wireless' as const, faults: distances }])
      expect(traced({ ...change, faults: [...change.faults].reverse() })).toBe(traced(change))
    expect(traced({ route: 'wireless', faults: distances })).not.toBe(
      traced({ route: 'wireless', faults: distances.slice(0, 1) }),
    )
  })

  it('does not shift the dice of one thing when another is switched on', () => {
    // Flash takes the same times whether or not a sensor chatters after the update is over.
    const erases = (faults: FaultChoice[]) => {
      const { flash } = run({ faults }).trace
      return Array.from({ length: 8 }, (_, i) => flash.endNs[i] - flash.startNs[i])
    }
    expect(erases([{ name: 'line-noise', value: '0.00001' }])).toEqual(erases([]))
  })
})

describe('random faults, values and seeds', () => {
  const value = (fault: (typeof FAULTS)[number]): fc.Arbitrary<string | undefined> => {
    const { parameter } = fault
    if (parameter === undefined) return fc.constant(undefined)
    if (parameter.kind === 'choice') return fc.constantFrom(...parameter.choices.map(c => c.value))
    const most = parameter.unit === 's' ? 12 : parameter.most
    return fc.double({ min: parameter.least, max: most, noNaN: true }).map(String)
  }
  const faultOn = (route: Route) =>
    fc
      .subarray(
        FAULTS.filter(f => f.routes.includes(route)),
        { minLength: 1, maxLength: 3 },
      )
      .chain(chosen =>
        fc.tuple(
          ...chosen.map(f =>
            value(f).map(v => (v === undefined ? { name: f.name } : { name: f.name, value: v })),
          ),
        ),
      )

  for (const route of ['cable', 'wireless'] as const)
    it(`by ${route}: the outcome is true, and everything but the last comes back`, () => {
      fc.assert(
        fc.property(faultOn(route), fc.nat(0xffff), (faults, seed) => {
          const { report } = run({ route, faults, seed })
          if (report.outcome === 'updated') expect(report.flashEqualsImage).toBe(true)
          else if (report.outcome !== 'destroyed') expect(report.recovery?.rehearsed.outcome).toBe('updated')
        }),
        { numRuns: 60, seed: 20261125 },
      )
    }, 60_000)
})
