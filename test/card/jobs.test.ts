import { describe, expect, it } from 'vitest'
import { progressTeller, StagingJobs } from '../../main/card/jobs.ts'
import type { CardProgress } from '../../shared/api/card.ts'
import { ProblemError } from '../../shared/model/problem.ts'

describe('stagings that are running', () => {
  it('are one at a time on a volume, and end', () => {
    const jobs = new StagingJobs()
    const { ended } = jobs.begin('one', '/a')
    expect(() => jobs.begin('two', '/a')).toThrow(ProblemError)
    expect(() => jobs.begin('one', '/b')).toThrow(ProblemError)
    jobs.begin('two', '/b')
    ended()
    jobs.begin('one', '/a')
  })

  it('tell which volumes are being written, whenever that changes', () => {
    const told: string[][] = []
    const jobs = new StagingJobs(places => told.push(places))
    const one = jobs.begin('one', '/a')
    jobs.begin('two', '/b').ended()
    one.ended()
    expect(told).toEqual([['/a'], ['/a', '/b'], ['/a'], []])
  })

  it('are stopped each by its own name', () => {
    const jobs = new StagingJobs()
    const [a, b] = [jobs.begin('one', '/a'), jobs.begin('two', '/b')]
    expect(jobs.cancel('one')).toBe(true)
    expect([a.signal.aborted, b.signal.aborted]).toEqual([true, false])
    a.ended()
    expect(jobs.cancel('one')).toBe(false)
  })
})

describe('telling of progress', () => {
  it('says what is being done, and not every block of a large image', () => {
    const told: CardProgress[] = []
    const { onStore, onProgress } = progressTeller('job', progress => told.push(progress))
    const total = 100_000
    onStore({ op: 'create' })
    for (let done = 1; done <= total; done++) onProgress(done, total)
    for (const op of ['flush', 'read', 'rename', 'rename', 'read', 'remove'] as const) onStore({ op })
    expect([...new Set(told.map(t => t.doing))]).toEqual([
      'copying',
      'flushing',
      'reading-back',
      'naming',
      'proving',
    ])
    expect(told.length).toBeLessThan(210)
    expect(told.filter(t => t.doing === 'copying').at(-1)).toMatchObject({ jobId: 'job', done: total, total })
  })
})
