import { describe, expect, it } from 'vitest'
import { type Commit, WriteLog } from '../../main/serial/write-log.ts'
import type { LogEvent } from '../../shared/logbook/event.ts'
import type { Effect, SessionEvent } from '../../shared/procedure/effects.ts'

const send: Effect = { do: 'send', octets: Uint8Array.of(1) }
const phase = (id: 'enter' | 'erase'): SessionEvent => ({ kind: 'phase', phase: id, attempt: 1 })
const note: SessionEvent = { kind: 'note', level: 'info', text: 'It answers.' }

function logged(commit?: Commit) {
  const commits: (readonly LogEvent[])[] = []
  const log = new WriteLog(commit ?? (events => void commits.push(events)), {
    imageOctets: 6000,
    beginChanges: false,
  })
  return { log, commits }
}

describe('the log of a write', () => {
  it('commits what was said in one go with what is announced behind it, before that is done', () => {
    const { log, commits } = logged()
    log.before({ do: 'say', event: phase('enter') }, 0)
    log.before({ do: 'say', event: note }, 0)
    expect(commits).toEqual([])
    log.before(send, 0)
    expect(commits).toEqual([
      [phase('enter'), note, { kind: 'effect', effect: 'enter', text: expect.any(String) }],
    ])
    log.before(send, 0)
    expect(commits).toHaveLength(1)
  })

  it('commits what was said before anything is waited for, too', () => {
    const { log, commits } = logged()
    log.before({ do: 'say', event: note }, 0)
    log.before({ do: 'wait', ms: 1000 }, 0)
    expect(commits).toEqual([[note]])
  })

  it('commits what the port says at once, behind what was said before', () => {
    const { log, commits } = logged()
    const enter = phase('enter')
    log.before({ do: 'say', event: enter }, 0)
    log.said(enter)
    expect(commits).toEqual([])
    log.said(note)
    expect(commits).toEqual([[enter, note]])
  })

  it('keeps what was said where it could not be committed, and nothing that was not done', () => {
    let isFull = true
    const commits: (readonly LogEvent[])[] = []
    const { log } = logged(events => {
      if (isFull) throw new Error('the disk is full')
      commits.push(events)
    })
    log.before({ do: 'say', event: phase('erase') }, 0)
    expect(() => log.before(send, 0)).toThrow('the disk is full')
    expect(log.events).toEqual([phase('erase')])
    isFull = false
    log.end(note)
    expect(commits).toEqual([[phase('erase'), note]])
  })

  it('ends with the recorded answers and what is said last in one go', () => {
    const { log, commits } = logged()
    log.answered('d')
    log.answered('t')
    log.end(note)
    expect(commits).toEqual([[{ kind: 'answers', answers: ['d', 't'] }, note]])
  })
})
