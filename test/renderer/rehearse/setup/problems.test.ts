import { describe, expect, it } from 'vitest'
import { problemsOf, sortOwnProblems, sortProblems } from '../../../../renderer/rehearse/setup/problems.ts'
import { demoBench } from '../../../../shared/demo/bench.ts'
import { ProblemError } from '../../../../shared/model/problem.ts'
import { rehearse } from '../../../../shared/rehearse/rehearse.ts'

const request = {
  bench: demoBench(),
  receiverId: 'wren-trainer',
  image: { kind: 'bench' as const, imageId: 'wren-6-2.4.0' },
  route: 'cable' as const,
  seed: 1,
  faults: [],
  dropOutside: false,
}
const refused = (change: object) => {
  const result = rehearse({ ...request, ...change })
  return result.ok ? [] : result.problems
}

describe('problems of a rehearsal, at their fields', () => {
  it('a receiver that is not there', () => {
    expect(sortProblems(refused({ receiverId: 'nobody' })).receiver).toContain('nobody')
  })

  it('an image that is not there, and a file that is none', () => {
    expect(sortProblems(refused({ image: { kind: 'bench', imageId: 'nothing' } })).image).toContain('nothing')
    const octets = new TextEncoder().encode(':10000000AA\n')
    const sorted = sortProblems(refused({ image: { kind: 'file', fileName: 'torn.hex', octets } }))
    expect(sorted.image).toContain('torn.hex, line 1')
    expect(sorted.other).toEqual([])
  })

  it('a fault’s value', () => {
    const sorted = sortProblems(refused({ faults: [{ name: 'power-cut', value: '-1' }] }))
    expect(sorted.faults.get('power-cut')).toContain('from 0 to 3600 s')
  })

  it('an image that reaches outside, which can be left out', () => {
    const octets = new TextEncoder().encode(':020000041000EA\n:0110000001EE\n:00000001FF\n')
    const sorted = sortProblems(refused({ image: { kind: 'file', fileName: 'far.hex', octets } }))
    expect(sorted.reachesOutside).toBe(true)
    expect(sorted.image).toContain('far.hex')
  })

  it('what belongs to no field', () => {
    expect(sortProblems([{ code: 'api.lost', message: 'Lost.' }]).other).toEqual(['Lost.'])
  })

  it('what the view itself finds', () => {
    expect(sortOwnProblems([{ field: 'seed', message: 'No.' }])).toMatchObject({
      seed: 'No.',
      receiver: undefined,
    })
  })
})

it('whatever is thrown becomes problems with words', () => {
  expect(problemsOf(new ProblemError({ code: 'a.b', message: 'Said.' }))[0].message).toBe('Said.')
  expect(problemsOf({ problems: [{ code: 'a.b', message: 'One.' }] })).toHaveLength(1)
  expect(problemsOf(new TypeError('oh'))[0]).toMatchObject({
    code: 'rehearse.broken',
    message: expect.stringContaining('oh'),
  })
})
