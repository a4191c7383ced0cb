import { describe, expect, it } from 'vitest'
import { type RehearsalPart, rehearse } from '../../shared/rehearse/rehearse.ts'
import type { Moment } from '../../shared/sim/session.ts'
import { smallRequest } from '../support/small-bench.ts'

/** Power is lost while it writes, so that a recovery is played too. */
const request = { ...smallRequest(), faults: [{ name: 'power-cut', value: '1' }] }

describe('looking on while a rehearsal is worked out', () => {
  const told: { part: RehearsalPart; moment: Moment }[] = []
  const watched = rehearse(request, { watch: (part, moment) => told.push({ part, moment }) })

  it('changes nothing of it', () => {
    expect(watched).toEqual(rehearse(request))
  })

  it('tells of both parts, each in its own time, and how far the steps are', () => {
    const parts = told.map(({ part }) => part)
    expect(new Set(parts)).toEqual(new Set(['update', 'recovery']))
    expect(parts.lastIndexOf('update')).toBeLessThan(parts.indexOf('recovery'))
    for (const part of ['update', 'recovery']) {
      const own = told.filter(one => one.part === part).map(({ moment }) => moment)
      const times = own.map(({ simulatedMs }) => simulatedMs)
      expect(times).toEqual([...times].sort((a, b) => a - b))
      const writing = own.flatMap(({ standing }) => (standing?.phase === 'write' ? [standing] : []))
      expect(writing[0].done).toBe(0)
      expect(writing.at(-1)!.done).toBeGreaterThan(writing[0].done)
      expect(writing.every(({ done, total }) => done <= total || total === 0)).toBe(true)
    }
  })

  it('breaks it off with what it throws', () => {
    let calls = 0
    const watch = () => {
      if (++calls === 50) throw new RangeError('enough')
    }
    expect(() => rehearse(request, { watch })).toThrow('enough')
    expect(calls).toBe(50)
  })
})
