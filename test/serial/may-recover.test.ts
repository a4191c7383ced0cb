import { describe, expect, it } from 'vitest'
import { mayRecover } from '../../main/serial/may-recover.ts'
import type { Journal } from '../../main/store/journal.ts'
import { ProblemError } from '../../shared/model/problem.ts'

const ID = '01a21365-b426-7e8d-bf66-182ab580fa1e'
type Books = Pick<Journal, 'session' | 'interrupted'>

/** A logbook with one session that broke off, where nothing else is said. */
function books(change: object = {}, interrupted = true): Books {
  const session = { id: ID, kind: 'write', receiverId: 'wren', nickname: 'Wren', endedAtMs: null, ...change }
  return {
    session: id => {
      if (id === ID)
        return { session, events: [], finding: null } as unknown as ReturnType<Journal['session']>
      throw new ProblemError({ code: 'logbook.no-session', message: 'There is none.' })
    },
    interrupted: () => (interrupted ? ([session] as unknown as ReturnType<Journal['interrupted']>) : []),
  }
}

describe('a write that puts another one right', () => {
  it('names one to the same receiver that broke off, or that failed', () => {
    expect(() => mayRecover(books(), ID, 'wren')).not.toThrow()
    expect(() => mayRecover(books({ endedAtMs: 5 }, false), ID, 'wren')).not.toThrow()
    expect(() => mayRecover(books({ receiverId: null }), ID, null)).not.toThrow()
  })

  it('cannot end one that still runs, one of another receiver, or what is no write', () => {
    expect(() => mayRecover(books({}, false), ID, 'wren')).toThrow(/It is still running/)
    expect(() => mayRecover(books(), ID, 'heron')).toThrow(/It was about Wren/)
    expect(() => mayRecover(books(), ID, null)).toThrow(/It was about Wren/)
    expect(() => mayRecover(books({ kind: 'guided' }), ID, 'wren')).toThrow(/no write through a programmer/)
  })

  it('says so where there is no such session', () => {
    for (const id of ['nix', '', ID.slice(0, 8), ID.replace('01', '02')])
      expect(() => mayRecover(books(), id, 'wren'), id).toThrow(ProblemError)
  })
})
