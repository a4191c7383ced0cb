import { describe, expect, it, vi } from 'vitest'
import { socketChannel } from '../../../renderer/api/socket-channel.ts'
import type { CallEnvelope, Envelope } from '../../../shared/api/envelope.ts'
import { decodeEnvelope, encodeEnvelope } from '../../../shared/api/envelope.ts'

class FakeSocket {
  binaryType = ''
  onopen: (() => void) | null = null
  onmessage: ((message: { data: unknown }) => void) | null = null
  onclose: ((closing: { code: number }) => void) | null = null
  readonly sent: CallEnvelope[] = []
  readonly close = vi.fn()
  send(data: Uint8Array) {
    this.sent.push(decodeEnvelope(data) as CallEnvelope)
  }
  deliver(envelope: Envelope) {
    this.onmessage?.({ data: encodeEnvelope(envelope).buffer })
  }
}

function setUp() {
  const sockets: FakeSocket[] = []
  const waits: { delayMs: number; then: () => void }[] = []
  const statuses: string[] = []
  const channel = socketChannel({
    open: () => {
      sockets.push(new FakeSocket())
      return sockets.at(-1)!
    },
    wait: (delayMs, then) => waits.push({ delayMs, then }),
    onStatus: status => statuses.push(status),
  })
  return { channel, sockets, waits, statuses }
}

describe('the channel over a socket', () => {
  it('holds calls back until the socket is open, and gives each its own answer', async () => {
    const { channel, sockets } = setUp()
    const [first, second] = [channel.call('a.b', { n: 1 }), channel.call('c.d', new Uint8Array([2]))]
    expect(sockets[0].sent).toEqual([])
    sockets[0].onopen?.()
    const [one, two] = sockets[0].sent
    expect(one).toMatchObject({ method: 'a.b', request: { n: 1 } })
    expect(two.request).toEqual(new Uint8Array([2]))
    sockets[0].deliver({ id: two.id, ok: true, reply: 'second' })
    sockets[0].deliver({ id: one.id, ok: false, problems: [{ code: 'x.y', message: 'First.' }] })
    expect(await first).toEqual({ ok: false, problems: [{ code: 'x.y', message: 'First.' }] })
    expect(await second).toEqual({ ok: true, reply: 'second' })
  })

  it('passes events on until the listener stops', () => {
    const { channel, sockets } = setUp()
    const heard = vi.fn()
    const stop = channel.listen(heard)
    sockets[0].onopen?.()
    sockets[0].deliver({ event: 'a.b', data: 1 })
    stop()
    sockets[0].deliver({ event: 'a.b', data: 2 })
    expect(heard.mock.calls).toEqual([['a.b', 1]])
  })

  it('fails what was under way when the connection breaks, does not repeat it, and connects again', async () => {
    const { channel, sockets, waits, statuses } = setUp()
    sockets[0].onopen?.()
    const call = channel.call('a.b', {})
    sockets[0].onclose?.({ code: 1006 })
    await expect(call).rejects.toMatchObject({ problem: { code: 'api.lost' } })
    waits[0].then()
    sockets[1].onopen?.()
    expect(sockets[1].sent).toEqual([])
    expect(statuses).toEqual(['connecting', 'live', 'lost', 'connecting', 'live'])
  })

  it('waits longer from try to try, but never longer than four seconds', () => {
    const { sockets, waits } = setUp()
    for (let n = 0; n < 7; n += 1) {
      sockets[n].onclose?.({ code: 1006 })
      waits[n].then()
    }
    expect(waits.map(({ delayMs }) => delayMs)).toEqual([250, 500, 1_000, 2_000, 4_000, 4_000, 4_000])
  })

  it('gives up for good when the token is wrong', async () => {
    const { channel, sockets, waits, statuses } = setUp()
    const call = channel.call('a.b', {})
    sockets[0].onclose?.({ code: 4401 })
    await expect(call).rejects.toMatchObject({ problem: { code: 'api.token' } })
    await expect(channel.call('a.b', {})).rejects.toMatchObject({ problem: { code: 'api.token' } })
    expect(waits).toEqual([])
    expect(statuses.at(-1)).toBe('refused')
  })

  it('does not queue without end while there is no connection', async () => {
    const { channel } = setUp()
    for (let n = 0; n < 100; n += 1) channel.call('a.b', {}).catch(() => {})
    await expect(channel.call('a.b', {})).rejects.toMatchObject({ problem: { code: 'api.lost' } })
  })

  it('closes a socket that speaks what it cannot read', () => {
    const { sockets } = setUp()
    sockets[0].onopen?.()
    sockets[0].onmessage?.({ data: new Uint8Array([9, 9]).buffer })
    expect(sockets[0].close).toHaveBeenCalledOnce()
  })

  it('says what cannot be sent', async () => {
    const { channel } = setUp()
    await expect(channel.call('a.b', new Map())).rejects.toMatchObject({
      problem: { code: 'envelope.value' },
    })
  })
})
