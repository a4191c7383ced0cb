import { afterEach, describe, expect, it, vi } from 'vitest'
import { Emulator } from '../../main/serial/emulator.ts'
import { type LineSettings, type OpenPort, PortLostError } from '../../main/serial/port.ts'
import { ADDRESS, body, KIND, REPLY_BIT } from '../../shared/procedure/bus.ts'
import { layEmulation } from '../../shared/rehearse/emulate.ts'
import { decodeFrame, encodeFrame, maxEncodedLength } from '../../shared/wire/hdlc.ts'
import { emulationRequest } from '../support/emulated.ts'

/** A port that only remembers, for an emulator on a clock that the test moves. */
class FakePort implements OpenPort {
  readonly label = 'fake'
  readonly latencyMs = 0
  readonly settings: LineSettings = { baud: 115_200, parity: 'none', stopBits: 1 }
  readonly written: Uint8Array[] = []
  isClosed = false
  failsWith: string | undefined
  say: (octets: Uint8Array) => void = () => {}
  lose: (why: string) => void = () => {}

  async write(octets: Uint8Array) {
    if (this.failsWith !== undefined) throw new PortLostError(this.failsWith)
    this.written.push(octets)
  }
  onOctets(hear: (octets: Uint8Array) => void) {
    this.say = hear
    return () => {
      this.say = () => {}
    }
  }
  onLost(hear: (why: string) => void) {
    this.lose = hear
    return () => {}
  }
  async set() {}
  async lines() {
    return 'not-available' as const
  }
  async flushInput() {}
  async close() {
    this.isClosed = true
  }
}

const whoAreYou = () => {
  const asked = body(ADDRESS.receiver, KIND.identify)
  const octets = new Uint8Array(maxEncodedLength(asked.length))
  return octets.subarray(0, encodeFrame(asked, asked.length, octets, 0))
}

afterEach(() => vi.useRealTimers())

function play() {
  vi.useFakeTimers()
  const laid = layEmulation(emulationRequest({ pace: 'line' }))
  if (!laid.ok) throw new Error(laid.problems[0].message)
  const port = new FakePort()
  const emulator = new Emulator({ port, live: laid.value.live })
  return { port, emulator, live: laid.value.live }
}

describe('the emulator and the clock', () => {
  it('says what is due when it is due, and not before', async () => {
    const { port, emulator } = play()
    await vi.advanceTimersByTimeAsync(2000)
    port.say(whoAreYou())
    expect(port.written).toEqual([])
    await vi.advanceTimersByTimeAsync(50)
    const answer = decodeFrame(port.written[0])
    expect(answer.ok && answer.body[1]).toBe(KIND.identify | REPLY_BIT)
    const end = emulator.stop()
    await vi.advanceTimersByTimeAsync(10)
    expect((await end).lateness.times).toBe(1)
    expect(port.isClosed).toBe(true)
  })

  it('catches up where it was held up, leaves nothing out, and tells how late it was', async () => {
    const { port, emulator, live } = play()
    await vi.advanceTimersByTimeAsync(2000)
    port.say(whoAreYou())
    // The program gets no turn for a second: the clock has gone on when its timers come.
    vi.setSystemTime(Date.now() + 1000)
    const real = performance.now
    const held = vi.spyOn(performance, 'now').mockImplementation(() => real.call(performance) + 1000)
    await vi.advanceTimersByTimeAsync(20)
    expect(port.written).toHaveLength(1)
    expect(live.nowNs).toBeGreaterThan(2.9e9)
    const end = emulator.stop()
    await vi.advanceTimersByTimeAsync(10)
    const { lateness } = await end
    expect(lateness.worstMs).toBeGreaterThan(900)
    held.mockRestore()
  })

  it('ends when the port has gone, whoever notices', async () => {
    const told = play()
    told.port.lose('The cable was pulled.')
    expect(await told.emulator.ended).toMatchObject({ why: 'port-lost', text: 'The cable was pulled.' })
    const failing = play()
    failing.port.failsWith = 'It takes nothing any more.'
    await vi.advanceTimersByTimeAsync(2000)
    failing.port.say(whoAreYou())
    await vi.advanceTimersByTimeAsync(50)
    expect(await failing.emulator.ended).toMatchObject({
      why: 'port-lost',
      text: 'It takes nothing any more.',
    })
  })

  it('may be stopped twice, and is deaf then', async () => {
    const { port, emulator } = play()
    const ends = [emulator.stop(), emulator.stop()]
    await vi.advanceTimersByTimeAsync(10)
    expect(await ends[0]).toEqual(await ends[1])
    port.say(whoAreYou())
    emulator.powerCycle()
    await vi.advanceTimersByTimeAsync(1000)
    expect(port.written).toEqual([])
  })
})
