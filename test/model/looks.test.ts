import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { type Bench, checkBench, findType, readBench, writeBench } from '../../shared/model/bench.ts'
import { looksSchema, nothingSeen, seenSchema } from '../../shared/model/looks.ts'
import { sayProblem } from '../../shared/model/problem.ts'
import { typeNotKnown } from '../../shared/model/type-not-known.ts'
import { ownIdSchema, UNKNOWN } from '../../shared/model/units.ts'

const fieldOf = (bench: unknown): string | undefined => {
  const checked = checkBench(bench)
  return checked.ok ? undefined : checked.problems[0].field
}

describe('a receiver whose type nobody knows', () => {
  it('is kept in a bench file, with what was seen of it', () => {
    const demo = demoBench()
    const bench: Bench = {
      ...demo,
      receivers: demo.receivers.map(r =>
        r.typeId === UNKNOWN ? { ...r, seen: { ...nothingSeen, outputs: 6, connectorId: 'three-pin' } } : r,
      ),
    }
    const read = readBench(writeBench(bench), 'x.json')
    expect(read.ok && read.value).toEqual(bench)
  })

  it('finds no type, and nothing may be called what stands for “not known”', () => {
    const demo = demoBench()
    expect(findType(demo.catalogue, 'receiverTypes', UNKNOWN)).toBeUndefined()
    expect(ownIdSchema.safeParse(UNKNOWN).success).toBe(false)
    for (const list of ['receiverTypes', 'radioTypes', 'moduleTypes', 'connectors'] as const) {
      const [first] = demo.catalogue[list]
      const called = { ...demo.catalogue, [list]: [...demo.catalogue[list], { ...first, id: UNKNOWN }] }
      expect(fieldOf({ ...demo, catalogue: called })).toBe(
        `catalogue.${list}[${demo.catalogue[list].length}].id`,
      )
    }
  })

  it('may only have been seen with a connector that the bench knows', () => {
    const demo = demoBench()
    const seen = { ...nothingSeen, connectorId: 'no-such-plug' }
    expect(fieldOf({ ...demo, receivers: [{ ...demo.receivers[0], seen }] })).toBe(
      'receivers[0].seen.connectorId',
    )
  })

  it('leaves unknown what nobody looked at', () => {
    expect(Object.values(looksSchema.parse({})).every(value => value === UNKNOWN)).toBe(true)
    const { withinMillimetres, ...looked } = seenSchema.parse({ outputs: 4 })
    expect(looked).toEqual({ ...nothingSeen, withinMillimetres: undefined, outputs: 4 })
    expect(withinMillimetres).toBe(3)
  })

  it('is said in words, with the way to find out', () => {
    const said = sayProblem(typeNotKnown({ id: 'flea-market', nickname: 'From the flea market' }))
    expect(said).toContain('From the flea market')
    expect(said).toContain('fit --receiver flea-market')
  })
})
