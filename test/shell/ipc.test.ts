import { describe, expect, it, vi } from 'vitest'
import { forwardEvents, registerIpc } from '../../main/shell/ipc.ts'
import { makeEvents } from '../../shared/api/serve.ts'
import { notes } from '../api/notes.ts'

type Listener = (event: { senderFrame: { url: string; parent: unknown } | null }, request: unknown) => unknown

function register() {
  const listeners = new Map<string, Listener>()
  const serve = vi.fn(async () => ({ ok: true, reply: 1 }) as const)
  registerIpc({ handle: (channel, listener) => listeners.set(channel, listener) }, notes, serve)
  return { listeners, serve }
}

describe('registerIpc', () => {
  it('listens on one channel for each method and on no other', () => {
    expect([...register().listeners.keys()]).toEqual(['preflash:call:notes.add', 'preflash:call:notes.flip'])
  })

  it('answers our own page', async () => {
    const { listeners, serve } = register()
    const senderFrame = { url: 'preflash://app/', parent: null }
    const outcome = await listeners.get('preflash:call:notes.add')?.({ senderFrame }, { text: 'x' })
    expect(outcome).toEqual({ ok: true, reply: 1 })
    expect(serve).toHaveBeenCalledWith('notes.add', { text: 'x' })
  })

  it.each([
    ['another page', { url: 'https://evil.example/', parent: null }],
    ['a frame within our page', { url: 'preflash://app/', parent: {} }],
    ['a frame that is gone', null],
  ])('does not serve %s', async (_what, senderFrame) => {
    const { listeners, serve } = register()
    for (const listener of listeners.values()) {
      expect(await listener({ senderFrame }, { text: 'x' })).toMatchObject({
        ok: false,
        problems: [{ code: 'shell.sender' }],
      })
    }
    expect(serve).not.toHaveBeenCalled()
  })
})

describe('forwardEvents', () => {
  const receiver = (url: string, destroyed = false) => ({
    isDestroyed: () => destroyed,
    getURL: () => url,
    send: vi.fn(),
  })

  it('sends to our own living pages alone', () => {
    const events = makeEvents(notes)
    const [ours, other, gone] = [
      receiver('preflash://app/'),
      receiver('https://evil.example/'),
      receiver('preflash://app/', true),
    ]
    const stop = forwardEvents(events.listen, () => [ours, other, gone])
    events.emit('notes.added', { id: 1 })
    stop()
    events.emit('notes.added', { id: 2 })
    expect(ours.send.mock.calls).toEqual([['preflash:event:notes.added', { id: 1 }]])
    expect(other.send).not.toHaveBeenCalled()
    expect(gone.send).not.toHaveBeenCalled()
  })
})
