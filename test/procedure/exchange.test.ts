import { describe, expect, it } from 'vitest'
import {
  ADDRESS,
  body,
  KIND,
  numberBody,
  REPLY_BIT,
  refusalBody,
  refusalOf,
  ruleOfRefusal,
  writeBody,
} from '../../shared/procedure/bus.ts'
import type { Effect, EffectResult } from '../../shared/procedure/effects.ts'
import { Exchange } from '../../shared/procedure/exchange.ts'
import { dice } from '../../shared/sim/dice.ts'
import { Kernel } from '../../shared/sim/kernel.ts'
import { Line, type Listener } from '../../shared/sim/line.ts'
import { PortBuffer } from '../../shared/sim/port.ts'
import { encodeFrame, FrameDecoder, maxEncodedLength } from '../../shared/wire/hdlc.ts'
import { runScripted } from '../support/scripted.ts'

function framed(...bodies: Uint8Array[]): Uint8Array {
  const out = new Uint8Array(bodies.reduce((n, b) => n + maxEncodedLength(b.length), 0))
  let at = 0
  for (const b of bodies) at += encodeFrame(b, b.length, out, at)
  return out.slice(0, at)
}

const request = body(ADDRESS.receiver, KIND.identify)
const asking = { timeoutMs: 10, tries: 3, what: 'the question what it is' }

/** Answers each `receive` with the octets of the next script entry, or with nothing. */
function answering(script: (Uint8Array | undefined)[]) {
  let next = 0
  return (effect: Effect): EffectResult => {
    if (effect.do !== 'receive') return { got: 'done' }
    const octets = script[next++]
    const taken = octets === undefined ? false : effect.until(octets)
    return octets !== undefined && taken !== false ? { got: 'octets', octets } : { got: 'timeout' }
  }
}

describe('an exchange', () => {
  it('takes the reply of the kind and address that it asked', () => {
    const reply = body(ADDRESS.receiver, KIND.identify | REPLY_BIT, [1, 2, 3])
    const { result } = runScripted(new Exchange().ask(request, asking), answering([framed(reply)]))
    expect(result).toEqual({ got: 'reply', body: reply })
  })

  it('passes over other talkers, spoilt frames and noise before it', () => {
    const telemetry = body(0x21, KIND.poll | REPLY_BIT, [9, 9])
    const reply = body(ADDRESS.receiver, KIND.identify | REPLY_BIT, [7])
    const noise = Uint8Array.of(0x00, 0x7e, 0x12, 0x34, 0x7e)
    const all = Uint8Array.of(...noise, ...framed(telemetry, reply))
    const { result } = runScripted(new Exchange().ask(request, asking), answering([all]))
    expect(result).toMatchObject({ got: 'reply' })
  })

  it('asks again after silence, says so, and counts', () => {
    const exchange = new Exchange()
    const reply = framed(body(ADDRESS.receiver, KIND.identify | REPLY_BIT))
    const { effects } = runScripted(exchange.ask(request, asking), answering([undefined, undefined, reply]))
    expect(exchange.retries).toBe(2)
    expect(effects.filter(e => e.do === 'send')).toHaveLength(3)
    expect(effects.filter(e => e.do === 'say')).toHaveLength(2)
  })

  it('gives up after so many tries', () => {
    const { result } = runScripted(new Exchange().ask(request, asking), answering([]))
    expect(result).toEqual({ got: 'nothing' })
  })

  it('hands a refusal on with its reason, by which the rule is known', () => {
    const refusal = refusalBody(ADDRESS.receiver, KIND.identify, refusalOf('first-by-cable'))
    const { result } = runScripted(new Exchange().ask(request, asking), answering([framed(refusal)]))
    if (result.got !== 'refusal') throw new Error('not a refusal')
    expect(ruleOfRefusal(result.reason)).toBe('first-by-cable')
  })

  it('does not take a late answer to the block before for the answer to this one', () => {
    const late = numberBody(ADDRESS.receiver, KIND.write | REPLY_BIT, 0)
    const right = numberBody(ADDRESS.receiver, KIND.write | REPLY_BIT, 56)
    const ask = new Exchange().ask(writeBody(ADDRESS.receiver, 56, new Uint8Array(8)), {
      ...asking,
      answers: b => b[5] === 56,
    })
    const { result } = runScripted(ask, answering([framed(late, right)]))
    expect(result).toEqual({ got: 'reply', body: right })
  })
})

const BAUD = 115_200
const DATA_OCTETS = 56
const TURNAROUND_NS = 300_000

/** Stop-and-wait over a simulated line with a peer that acknowledges what arrives whole. */
function stopAndWait(blocks: number, bitErrorRate: number, timeoutMs: number) {
  const kernel = new Kernel()
  const line = new Line(kernel, {
    id: 'bus',
    label: 'Bus',
    baud: BAUD,
    parity: 'none',
    bitErrorRate,
    dice: dice(5, 'noise'),
  })
  const port = new PortBuffer()
  const radio = line.attach('radio', 'radio', port)
  const decoder = new FrameDecoder(80)
  let pending: Uint8Array | undefined
  const peer: Listener & { wake(): void } = {
    hear(octets, from, to) {
      decoder.push(octets, from, to, frame => {
        pending = numberBody(ADDRESS.receiver, KIND.write | REPLY_BIT, frame[5])
        kernel.after(TURNAROUND_NS, peer, 0)
      })
    },
    wake: () => pending && line.sendFrame(party, pending),
  }
  const party = line.attach('receiver', 'receiver', peer)
  const exchange = new Exchange()
  let sends = 0
  const perform = (effect: Effect): EffectResult => {
    if (effect.do === 'send') {
      sends++
      kernel.runTo(line.sendOctets(radio, effect.octets))
    } else if (effect.do === 'receive') {
      const deadline = kernel.nowNs + effect.timeoutMs * 1e6
      for (;;) {
        const taken = port.length > 0 ? effect.until(port.view) : false
        if (taken !== false) return { got: 'octets', octets: port.take(taken) }
        if (kernel.nextNs > deadline) {
          kernel.runTo(deadline)
          return { got: 'timeout' }
        }
        kernel.step()
      }
    }
    return { got: 'done' }
  }
  // 0x11 is never stuffed, so that every frame has the same length.
  const data = new Uint8Array(DATA_OCTETS).fill(0x11)
  const frame = writeBody(ADDRESS.receiver, 0x11111111, data)
  for (let i = 0; i < blocks; i++)
    runScripted(exchange.ask(frame, { timeoutMs, tries: 1000, what: 'write' }), perform)
  const frameOctets = framed(frame).length
  return { ns: kernel.nowNs, sends, frameOctets }
}

describe('stop-and-wait against its formulas', () => {
  it('U = Tf / (Tf + Tack + Tproc) on a clean line (W. Stallings, Data and Computer Communications, from memory)', () => {
    const blocks = 200
    const { ns, frameOctets } = stopAndWait(blocks, 0, 20)
    const character = 10 / BAUD
    const ackOctets = framed(numberBody(ADDRESS.receiver, KIND.write | REPLY_BIT, 0x11)).length
    const tf = frameOctets * character
    const formula = tf / (tf + ackOctets * character + TURNAROUND_NS / 1e9)
    expect((blocks * tf) / (ns / 1e9)).toBeCloseTo(formula, 4)
  })

  it('1 / (1 - P) sends a block on a noisy one, P from 1 - (1 - p)^n (F. Gebali, eq. 9.2)', () => {
    const blocks = 1500
    const p = 2e-4
    const { sends, frameOctets } = stopAndWait(blocks, p, 20)
    const ackOctets = framed(numberBody(ADDRESS.receiver, KIND.write | REPLY_BIT, 0x11)).length
    // Any inverted bit of frame or acknowledgement spoils the exchange: the octets between the flags are checked, and
    // a flag that is not one leaves the frame open. Each exchange is spoilt independently with this probability.
    const spoilt = 1 - (1 - p) ** ((frameOctets + ackOctets) * 10)
    const expected = blocks / (1 - spoilt)
    // The number of extra sends is negative binomial; five standard deviations, so one run in a million strays.
    const deviation = Math.sqrt((blocks * spoilt) / (1 - spoilt) ** 2)
    expect(Math.abs(sends - expected)).toBeLessThan(5 * deviation)
    expect(sends).toBeGreaterThan(blocks * 1.05)
  })
})
