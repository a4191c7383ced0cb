import { describe, expect, it, vi } from 'vitest'
import { LIMITS, runConnection } from '../../main/host/connection.ts'
import { makeEvents } from '../../shared/api/serve.ts'
import { notes } from '../api/notes.ts'

function setUp(waiting: () => number) {
  const events = makeEvents(notes)
  const socket = {
    get bufferedAmount() {
      return waiting()
    },
    send: vi.fn(),
    close: vi.fn(),
    terminate: vi.fn(),
    on: vi.fn(),
  }
  const report = vi.fn()
  const serve = async () => ({ ok: true, reply: null }) as const
  runConnection(socket, { serve, listen: events.listen, limits: { ...LIMITS, waitingBytes: 1_000 }, report })
  const fire = (name: string) => {
    for (const [event, listener] of socket.on.mock.calls) if (event === name) listener()
  }
  return { socket, events, fire, report }
}

describe('a page that does not read', () => {
  it('is cut off before what waits for it fills the memory', () => {
    let waiting = 0
    const { socket, events } = setUp(() => waiting)
    events.emit('notes.added', { id: 1 })
    waiting = 1_001
    events.emit('notes.added', { id: 2 })
    events.emit('notes.added', { id: 3 })
    expect(socket.send).toHaveBeenCalledOnce()
    expect(socket.terminate).toHaveBeenCalledOnce()
  })
})

describe.each(['close', 'error'])('after the socket reports %s', name => {
  it('nothing is sent on it any more', () => {
    const { socket, events, fire } = setUp(() => 0)
    fire(name)
    events.emit('notes.added', { id: 1 })
    expect(socket.send).not.toHaveBeenCalled()
  })
})
