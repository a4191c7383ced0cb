import { describe, expect, it } from 'vitest'
import { HostEnd } from '../../shared/sim/host-end.ts'
import { lineRig } from '../support/line-rig.ts'

function rig() {
  const { kernel, line, later, ear, run } = lineRig()
  const host = new HostEnd()
  host.connect(kernel, line, line.attach('host', 'radio', host, { speaksInPieces: true }))
  const far = ear('far', 'receiver')
  return { kernel, line, later, run, host, far }
}

describe('the near end of a live line', () => {
  it('says what comes at once one after another, and keeps the order', () => {
    const { line, run, host, far } = rig()
    host.say(Uint8Array.of(1, 2, 3))
    host.say(Uint8Array.of(4))
    host.say(Uint8Array.of(5, 6))
    run()
    expect(far.octets).toEqual([1, 2, 3, 4, 5, 6])
    expect(far.got.map(g => g.atNs)).toEqual([3, 6].map(n => line.durationNs(3) * (n / 3)))
    expect(far.got.every(g => !g.whole)).toBe(true)
  })

  it('keeps what the caller may overwrite', () => {
    const { run, host, far } = rig()
    const octets = Uint8Array.of(1, 2)
    host.say(Uint8Array.of(9))
    host.say(octets)
    octets.fill(0)
    run()
    expect(far.octets).toEqual([9, 1, 2])
  })

  it('passes a long burst in pieces', () => {
    const { run, host, far } = rig()
    host.say(new Uint8Array(10_000).map((_, i) => i & 0xff))
    run()
    expect(far.got.length).toBe(3)
    expect(far.octets.length).toBe(10_000)
    expect(far.octets[9999]).toBe(9999 & 0xff)
  })

  it('gives what it heard once, with the time at which it was over', () => {
    const { kernel, line, run, host, far } = rig()
    line.sendOctets(far.party, Uint8Array.of(7, 8))
    run()
    expect(host.taken()).toEqual([{ atNs: kernel.nowNs, octets: Uint8Array.of(7, 8) }])
    expect(host.taken()).toEqual([])
  })
})
