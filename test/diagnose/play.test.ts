import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { CAUSES } from '../../shared/diagnose/causes.ts'
import { playOf, repairOf } from '../../shared/diagnose/play.ts'
import { formOf } from '../../shared/diagnose/play-forms.ts'
import { benchSchema, checkBench } from '../../shared/model/bench.ts'
import type { Route } from '../../shared/model/units.ts'
import { rehearse } from '../../shared/rehearse/rehearse.ts'
import { applyFaults } from '../../shared/sim/faults.ts'
import { calmWorld } from '../../shared/sim/world.ts'

const bench = demoBench()
const receiverId = 'wren-trainer'
const ROUTES: readonly Route[] = ['cable', 'wireless']

type Played = NonNullable<ReturnType<typeof playOf>>
function outcomeOf({ bench: on, route, imageId, faults }: Played, receiver = receiverId) {
  const done = rehearse({
    bench: on,
    receiverId: receiver,
    image: { kind: 'bench', imageId },
    route,
    seed: 1,
    faults: [...faults],
    dropOutside: false,
  })
  if (!done.ok) throw new Error(done.problems.map(p => p.message).join(' '))
  return done.value.report
}

/** What only a flight brings to light, or an update by the other way. */
const inFlightOnly = ['telemetry-off', 'antenna-damaged', 'module-behind-image', 'image-behind-module']

describe('trying a cause on one’s own bench', () => {
  for (const route of ROUTES)
    for (const { id } of CAUSES.filter(c => c.routes.includes(route)))
      it(`${id} by ${route} goes wrong, and repaired it goes through`, () => {
        const before = JSON.stringify(bench)
        const played = playOf({ bench, receiverId, route }, [id])
        if (played !== undefined) {
          expect(checkBench(benchSchema.parse(played.bench))).toMatchObject({ ok: true })
          const report = outcomeOf(played)
          expect([report.outcome, report.attempts]).not.toEqual(['updated', 1])
        } else expect(formOf(id) === undefined || route === 'cable').toBe(true)
        expect(outcomeOf(repairOf({ bench, receiverId, route }, [id])!).outcome).toBe('updated')
        expect(JSON.stringify(bench)).toBe(before)
      })

  it('is offered for every cause that an update shows', () => {
    const never = CAUSES.filter(({ id }) =>
      ROUTES.every(route => playOf({ bench, receiverId, route }, [id]) === undefined),
    )
    expect(never.map(c => c.id).sort()).toEqual([...inFlightOnly].sort())
  })

  it('puts two causes in place at once', () => {
    const two = playOf({ bench, receiverId, route: 'cable' }, ['signal-wire-open', 'card-locked'])!
    expect(two.faults).toEqual([{ name: 'signal-wire-open' }])
    expect(two.bench.cards[0].readOnly).toBe(true)
    expect(outcomeOf(two).outcome).toBe('unchanged')
  })

  it('makes an image up where the bench has none, and says no where the type is not known', () => {
    const none = { ...bench, images: [] }
    const played = playOf({ bench: none, receiverId, route: 'cable' }, ['card-locked'])!
    expect(played.bench.images.map(i => i.id)).toEqual([played.imageId])
    expect(outcomeOf(repairOf({ bench: none, receiverId, route: 'cable' }, ['card-locked'])!).outcome).toBe(
      'updated',
    )
    expect(playOf({ bench, receiverId: 'flea-market', route: 'cable' }, ['card-locked'])).toBeUndefined()
    expect(repairOf({ bench, receiverId: 'flea-market', route: 'cable' }, ['card-locked'])).toBeUndefined()
    expect(playOf({ bench, receiverId, route: 'cable' }, [])).toBeUndefined()
  })

  it('shows on other types of receiver too, whose supplies and needs are others', () => {
    for (const other of ['heron-biplane', 'finch-foamie', 'curlew-survey'])
      for (const id of ['supply-sag', 'second-supply', 'power-lost', 'cable-loose', 'card-contact']) {
        const played = playOf({ bench, receiverId: other, route: 'cable' }, [id])!
        const report = outcomeOf(played, other)
        expect([report.outcome, report.attempts], `${id} on ${other}`).not.toEqual(['updated', 1])
      }
  })

  for (const id of ['module-off', 'module-generation', 'module-band', 'card-locked', 'second-supply'])
    it(`${id}, found on the bench itself, is repaired by the remedy of its rule`, () => {
      const route: Route = id.startsWith('module') ? 'wireless' : 'cable'
      const played = playOf({ bench, receiverId, route }, [id])!
      const put = applyFaults({ bench: played.bench, receiverId, route, world: calmWorld }, played.faults)
      if (!put.ok) throw new Error('the fault cannot be put')
      const sick = put.value.bench
      expect(outcomeOf({ ...played, bench: sick, faults: [] }).outcome).not.toBe('updated')
      expect(outcomeOf(repairOf({ bench: sick, receiverId, route }, [id])!).outcome).toBe('updated')
    })
})
