import { describe, expect, it, vi } from 'vitest'
import { bridgeChannel } from '../../shared/api/bridge.ts'
import type { Channel } from '../../shared/api/client.ts'
import { type CallError, makeClient } from '../../shared/api/client.ts'
import { ProblemError } from '../../shared/model/problem.ts'
import { notes } from './notes.ts'

function channelThat(answers: unknown) {
  const listeners = new Set<(event: string, data: unknown) => void>()
  const call = vi.fn(async () => answers)
  const channel: Channel = {
    call,
    listen(listener) {
      listeners.add(listener)
      return () => listeners.delete(listener)
    },
  }
  const tell = (event: string, data: unknown) => {
    for (const listener of listeners) listener(event, data)
  }
  return { client: makeClient(notes, channel), call, tell }
}

describe('makeClient', () => {
  it('gives the reply', async () => {
    const { client, call } = channelThat({ ok: true, reply: { id: 3 } })
    expect(await client.call('notes.add', { text: 'abc' })).toEqual({ id: 3 })
    expect(call).toHaveBeenCalledWith('notes.add', { text: 'abc' })
  })

  it('rejects with what was wrong, as a ProblemError that holds all of it', async () => {
    const problems = [
      { code: 'a.a', message: 'A.', field: 'x' },
      { code: 'b.b', message: 'B.' },
    ]
    const error = await channelThat({ ok: false, problems })
      .client.call('notes.add', { text: 'x' })
      .catch(e => e)
    expect(error).toBeInstanceOf(ProblemError)
    expect((error as CallError).problem).toEqual(problems[0])
    expect((error as CallError).problems).toEqual(problems)
  })

  it('does not send a request that does not fit', async () => {
    const { client, call } = channelThat({ ok: true, reply: { id: 1 } })
    await expect(client.call('notes.add', { text: '' })).rejects.toMatchObject({ problem: { field: 'text' } })
    expect(call).not.toHaveBeenCalled()
  })

  it.each([
    [{ ok: true, reply: { id: 'one' } }],
    [{ ok: true, reply: { id: 1, more: 2 } }],
    [{ ok: false, problems: [] }],
    [{ ok: 'perhaps' }],
    [undefined],
  ])('rejects the answer %j', async answer => {
    await expect(channelThat(answer).client.call('notes.add', { text: 'x' })).rejects.toMatchObject({
      problem: { code: 'api.reply' },
    })
  })

  it('passes on the failure of the channel', async () => {
    const lost = new ProblemError({ code: 'api.lost', message: 'Gone.' })
    const client = makeClient(notes, { call: () => Promise.reject(lost), listen: () => () => {} })
    await expect(client.call('notes.add', { text: 'x' })).rejects.toBe(lost)
  })

  it('hears the events it asked for, checked, until it stops', () => {
    const { client, tell } = channelThat(undefined)
    const heard = vi.fn()
    const stop = client.on('notes.added', heard)
    tell('notes.added', { id: 1 })
    tell('notes.added', { id: 'one' })
    tell('notes.cleared', {})
    tell('notes.unknown', {})
    stop()
    tell('notes.added', { id: 2 })
    expect(heard.mock.calls).toEqual([[{ id: 1 }]])
  })
})

describe('bridgeChannel', () => {
  it('calls the function of the method, and no inherited one', async () => {
    const add = vi.fn(async () => ({ ok: true as const, reply: { id: 1 } }))
    const channel = bridgeChannel({ calls: { 'notes.add': add }, events: {} })
    expect(await channel.call('notes.add', { text: 'x' })).toEqual({ ok: true, reply: { id: 1 } })
    expect(add).toHaveBeenCalledWith({ text: 'x' })
    expect(await channel.call('toString', {})).toMatchObject({
      ok: false,
      problems: [{ code: 'api.method' }],
    })
  })

  it('listens to every event and stops all of them', () => {
    const stop = vi.fn()
    const on = vi.fn((listener: (data: unknown) => void) => {
      listener({ id: 1 })
      return stop
    })
    const heard = vi.fn()
    const quiet = bridgeChannel({ calls: {}, events: { 'notes.added': on } }).listen(heard)
    expect(heard).toHaveBeenCalledWith('notes.added', { id: 1 })
    quiet()
    expect(stop).toHaveBeenCalledOnce()
  })
})
