import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { dice } from '../../shared/sim/dice.ts'
import { BURST } from '../../shared/sim/trace.ts'
import { decodeFrame } from '../../shared/wire/hdlc.ts'
import { lineRig } from '../support/line-rig.ts'
import { heardOnWire } from '../support/uart-model.ts'

const octetLists = fc.uint8Array({ minLength: 1, maxLength: 80 })

describe('one talker', () => {
  it('is heard by all others, whole, when its last stop bit ends, to the nanosecond', () => {
    fc.assert(
      fc.property(
        octetLists,
        fc.nat(1_000_000),
        fc.constantFrom(57_600, 115_200, 400_000, 420_000),
        fc.constantFrom('none', 'even'),
        (octets, startNs, baud, parity) => {
          const { line, later, ear, run } = lineRig({ baud, parity: parity as 'none' | 'even' })
          const [a, b, c] = [ear('a', 'radio'), ear('b', 'receiver'), ear('c', 'receiver')]
          later.at(startNs, () => line.sendOctets(a.party, octets))
          run()
          // 10 bits a character as 8N1, 11 as 8E1, in whole nanoseconds after one rounding.
          const bits = BigInt(octets.length) * (parity === 'even' ? 11n : 10n)
          const doubled = (2n * bits * 1_000_000_000n) / BigInt(baud)
          const endNs = startNs + Number((doubled + 1n) / 2n)
          for (const other of [b, c])
            expect(other.got).toEqual([{ atNs: endNs, octets: [...octets], whole: true }])
          expect(a.got).toEqual([])
        },
      ),
    )
  })

  it('sends a frame that decodes to its body', () => {
    const { line, ear, run } = lineRig()
    const [a, b] = [ear('a', 'radio'), ear('b', 'receiver')]
    line.sendFrame(a.party, Uint8Array.of(0x10, 0x7e, 0x7d, 3))
    run()
    const frame = decodeFrame(Uint8Array.from(b.octets))
    expect(frame).toMatchObject({ ok: true, body: Uint8Array.of(0x10, 0x7e, 0x7d, 3) })
  })
})

describe('talkers one after the other', () => {
  it.each(['octets', 'a frame'])('are both heard when the second says %s as the first ends', what => {
    const { kernel, line, later, ear, run } = lineRig()
    const [a, b, c] = [ear('a', 'radio'), ear('b', 'receiver'), ear('c', 'receiver')]
    const endNs = line.durationNs(3)
    // Scheduled before the end of the burst is, so it comes first in the kernel's order.
    later.at(endNs, () => {
      if (what === 'octets') line.sendOctets(b.party, Uint8Array.of(4, 5))
      else line.sendFrame(b.party, Uint8Array.of(4, 5))
    })
    later.at(0, () => line.sendOctets(a.party, Uint8Array.of(1, 2, 3)))
    run()
    expect(c.octets).toEqual([1, 2, 3, ...a.octets])
    expect(b.octets).toEqual([1, 2, 3])
    expect(a.octets.length).toBeGreaterThanOrEqual(2)
    expect(kernel.nowNs).toBe(endNs + line.durationNs(a.octets.length))
    expect([...line.recorder.done().flags]).toEqual([0, 0])
  })
})

describe('talkers who overlap', () => {
  const talk = fc.record({
    startNs: fc.nat(1_500_000),
    octets: fc.uint8Array({ minLength: 1, maxLength: 14 }),
  })

  it('corrupt each other: a listener hears exactly what an independent model of the wire gives', () => {
    fc.assert(
      fc.property(fc.array(talk, { minLength: 2, maxLength: 3 }), talks => {
        const { line, later, ear, run } = lineRig()
        const listener = ear('listener', 'receiver')
        const ends = talks.map(t => t.startNs + line.durationNs(t.octets.length))
        const sorted = [...talks].sort((a, b) => a.startNs - b.startNs)
        const overlapping = sorted.every(
          (t, i) =>
            i === 0 ||
            t.startNs <
              Math.max(...sorted.slice(0, i).map(s => s.startNs + line.durationNs(s.octets.length))),
        )
        fc.pre(overlapping)
        for (const t of talks) {
          const talker = ear('talker', 'radio')
          later.at(t.startNs, () => line.sendOctets(talker.party, t.octets))
        }
        run()
        const model = heardOnWire(
          talks.map(t => ({ startNs: t.startNs, octets: [...t.octets] })),
          115_200,
          false,
        )
        expect(listener.octets).toEqual(model)
        if (model.length > 0) expect(listener.got[0].atNs).toBe(Math.max(...ends))
        const lane = line.recorder.done()
        expect([...lane.flags].every(f => (f & BURST.collided) !== 0)).toBe(true)
        expect(lane.heard).toHaveLength(1)
        expect([...lane.heard[0].octets]).toEqual(model)
      }),
      { numRuns: 80 },
    )
  })

  it('two frames on top of each other give no good frame', () => {
    const { line, later, ear, run } = lineRig()
    const [a, b, c] = [ear('a', 'radio'), ear('b', 'receiver'), ear('c', 'receiver')]
    later.at(0, () => line.sendFrame(a.party, Uint8Array.of(0x10, 0x11, 7, 8, 9)))
    later.at(230_000, () => line.sendFrame(b.party, Uint8Array.of(0x21, 0x81, 1, 2, 3)))
    run()
    expect(decodeFrame(Uint8Array.from(c.octets)).ok).toBe(false)
  })
})

describe('noise', () => {
  /**
   * Bit errors are independent with rate p, so counts over n trials are binomial: mean n q, variance n q (1 - q).
   * Bound: six standard deviations, passed by chance less than once in ten million.
   */
  const within = (count: number, trials: number, q: number, slack = 0) =>
    expect(Math.abs(count - trials * q)).toBeLessThan(6 * Math.sqrt(trials * q * (1 - q)) + slack)

  it.each([
    [1e-2, 100_000],
    [1e-3, 400_000],
  ])('at a bit error rate of %f inverts as many bits as the binomial distribution says', (rate, bursts) => {
    const { line, ear, run } = lineRig({ bitErrorRate: rate, dice: dice(11, 'noise') })
    const [a, b] = [ear('a', 'radio'), ear('b', 'receiver')]
    // All data bits high: an inverted one is heard as itself, an inverted start or stop bit costs the character.
    const octets = Uint8Array.of(0xff)
    let flips = 0
    let lost = 0
    for (let i = 0; i < bursts; i++) {
      b.got.length = 0
      line.sendOctets(a.party, octets)
      run()
      const [heard] = b.octets
      if (heard === undefined) lost++
      else for (let x = heard ^ 0xff; x > 0; x &= x - 1) flips++
      line.recorder.forget()
    }
    within(line.spoilt, bursts, 1 - (1 - rate) ** 10)
    // Beyond first order: start bit and a data bit both inverted, which makes a false character.
    const falseCharacters = bursts * 8 * rate ** 2
    within(lost, bursts, 1 - (1 - rate) ** 2, falseCharacters)
    within(flips, (bursts - lost) * 8, rate, 8 * falseCharacters)
  })

  it('of zero inverts nothing, and the same dice invert the same bits', () => {
    const session = (seed: number, rate: number) => {
      const { line, ear, run } = lineRig({ bitErrorRate: rate, dice: dice(seed, 'noise') })
      const [a, b] = [ear('a', 'radio'), ear('b', 'receiver')]
      for (let i = 0; i < 30; i++) {
        line.sendOctets(
          a.party,
          Uint8Array.from({ length: 20 }, (_, k) => k * i),
        )
        run()
      }
      return { octets: b.octets, spoilt: line.spoilt, flags: [...line.recorder.done().flags] }
    }
    expect(session(1, 0).spoilt).toBe(0)
    expect(session(1, 0.003)).toEqual(session(1, 0.003))
    expect(session(1, 0.003)).not.toEqual(session(2, 0.003))
    expect(session(1, 0.003).flags.some(f => (f & BURST.noisy) !== 0)).toBe(true)
  })
})

describe('an open cable', () => {
  it('lets pass what had passed, and nothing after; nearer ends hear each other', () => {
    fc.assert(
      fc.property(octetLists, fc.double({ min: 0, max: 1, noNaN: true }), (octets, share) => {
        const { line, later, ear, run } = lineRig()
        const [radio, receiver, sensor] = [
          ear('radio', 'radio'),
          ear('receiver', 'receiver'),
          ear('sensor', 'receiver'),
        ]
        const openNs = Math.floor(share * line.durationNs(octets.length))
        // The burst is laid down first, so that at time zero it has begun.
        later.at(0, () => line.sendOctets(receiver.party, octets))
        later.at(openNs, () => line.open())
        run()
        const passed = Math.floor((openNs * 115_200) / 1e10)
        expect(sensor.octets).toEqual([...octets])
        expect(radio.octets).toEqual([
          ...octets.subarray(0, openNs >= line.durationNs(octets.length) ? octets.length : passed),
        ])
        radio.got.length = 0
        line.sendOctets(receiver.party, Uint8Array.of(1, 2))
        run()
        expect(radio.got).toEqual([])
        line.sendOctets(radio.party, Uint8Array.of(3))
        run()
        expect(receiver.octets).toEqual([])
        expect(sensor.octets).toEqual([...octets, 1, 2])
      }),
      { numRuns: 60 },
    )
  })
})

describe('a talker whose power fails', () => {
  it('is heard up to its last finished character, and nobody collides with what it did not say', () => {
    const { kernel, line, later, ear, run } = lineRig()
    const [a, b, c] = [ear('a', 'radio'), ear('b', 'receiver'), ear('c', 'receiver')]
    later.at(0, () => line.sendOctets(a.party, Uint8Array.of(1, 2, 3, 4, 5, 6)))
    const stopNs = Math.round(2.5 * line.durationNs(1))
    later.at(stopNs, () => line.silence(a.party))
    later.at(stopNs + 1000, () => line.sendOctets(b.party, Uint8Array.of(9)))
    run()
    expect(c.octets).toEqual([1, 2, 9])
    expect(kernel.nowNs).toBe(line.durationNs(6))
    const { flags } = line.recorder.done()
    expect([...flags]).toEqual([BURST.lost, 0])
  })
})

describe('a party with ways of its own', () => {
  it('hears itself on a single wire, collisions included', () => {
    const { kernel, line, later, ear, run } = lineRig()
    const got: number[] = []
    const listener = {
      hear: (octets: Uint8Array, from: number, to: number) => got.push(...octets.subarray(from, to)),
    }
    const wire = line.attach('host', 'radio', listener, { hearsItself: true })
    const other = ear('other', 'receiver')
    line.sendOctets(wire, Uint8Array.of(1, 2, 3))
    run()
    expect(got).toEqual([1, 2, 3])
    expect(other.octets).toEqual([1, 2, 3])
    got.length = 0
    const at = kernel.nowNs + 1_000_000
    later.at(at, () => line.sendOctets(wire, Uint8Array.of(0xf0)))
    later.at(at, () => line.sendOctets(other.party, Uint8Array.of(0x3c)))
    run()
    // Low wins: where either says 0, 0 is heard.
    expect(got).toEqual([0xf0 & 0x3c])
  })

  it('that speaks in pieces is never heard as one whole frame', () => {
    const { line, ear, run } = lineRig()
    const pieces = line.attach('host', 'radio', { hear: () => true }, { speaksInPieces: true })
    const other = ear('other', 'receiver')
    line.sendOctets(pieces, Uint8Array.of(1, 2, 3))
    run()
    expect(other.got).toEqual([{ atNs: line.durationNs(3), octets: [1, 2, 3], whole: false }])
  })

  it('a line without pace takes a nanosecond for each character, and keeps its rate for who asks', () => {
    const { line } = lineRig({ bitsPerSecond: 1e10 })
    expect(line.durationNs(1000)).toBe(1000)
    expect(line.baud).toBe(115_200)
  })
})
