import { describe, expect, it } from 'vitest'
import { announcementOf } from '../../shared/procedure/announce.ts'
import {
  ADDRESS,
  announcementBody,
  body,
  eraseBody,
  KIND,
  numberBody,
  REFUSAL,
  REFUSED,
  REPLY_BIT,
  readIdentity,
  readNumber,
  ruleOfRefusal,
  versionText,
  writeBody,
} from '../../shared/procedure/bus.ts'
import { benchImage } from '../../shared/rehearse/image.ts'
import { memoryOf } from '../../shared/rehearse/table.ts'
import { recordsOf } from '../../shared/sim/memory.ts'
import { receiverRig } from '../support/receiver-rig.ts'
import { smallBench } from '../support/small-bench.ts'

const bench = smallBench()
const type = bench.catalogue.receiverTypes[0]
const unit = bench.receivers[0]
const ready = benchImage(bench, type, 'wren-6-2.4.0')
if (!ready.ok) throw new Error(ready.problems[0].message)
const { card, payload } = ready.value
const begin = (change: object = {}) =>
  announcementBody(ADDRESS.receiver, { ...announcementOf(card, type), ...change })
const to = (kind: number, payload_: number[] = []) => body(ADDRESS.receiver, kind, payload_)
const refusal = (frame: Uint8Array | undefined) => (frame?.[1] === REFUSED ? frame[3] : undefined)

function started(receiverId = 'wren-trainer', settleMs?: number) {
  const owner = bench.receivers.find(r => r.id === receiverId) ?? unit
  const memory = memoryOf(bench, type, owner)
  const rig = receiverRig(bench, receiverId, memory, settleMs)
  rig.wait(1500)
  return { memory, ...rig }
}
/** In its boot loader, settled, with the image announced. */
function announced() {
  const rig = started()
  rig.ask(to(KIND.enter))
  rig.wait(200)
  expect(rig.ask(begin())?.[1]).toBe(KIND.begin | REPLY_BIT)
  return rig
}

describe('the receiver', () => {
  it('runs its image after power-on, says who it is, and answers when it is polled', () => {
    const rig = started()
    const identity = readIdentity(rig.ask(to(KIND.identify))!)!
    expect(identity.inBootLoader).toBe(false)
    expect(versionText(identity.firmware)).toBe('2.1.0')
    expect(rig.ask(to(KIND.poll))?.[1]).toBe(KIND.poll | REPLY_BIT)
  })

  it('is quiet when it was told to be, and talks again', () => {
    const rig = started()
    rig.ask(body(ADDRESS.all, KIND.quiet, [30]))
    expect(rig.ask(to(KIND.poll))).toBeUndefined()
    rig.ask(body(ADDRESS.all, KIND.resume))
    expect(rig.ask(to(KIND.poll))).toBeDefined()
  })

  it('goes into its boot loader when asked, and stays there', () => {
    const rig = started()
    expect(rig.ask(to(KIND.enter))?.[1]).toBe(KIND.enter | REPLY_BIT)
    rig.wait(3000)
    expect(readIdentity(rig.ask(to(KIND.identify))!)?.inBootLoader).toBe(true)
    expect(rig.ask(to(KIND.restart))?.[1]).toBe(KIND.restart | REPLY_BIT)
    rig.wait(1500)
    expect(readIdentity(rig.ask(to(KIND.identify))!)?.inBootLoader).toBe(false)
  })

  it('waits in its boot loader when it holds nothing that starts', () => {
    const rig = started()
    rig.memory.program.octets[100] ^= 1
    rig.ask(to(KIND.restart))
    rig.wait(2000)
    const identity = readIdentity(rig.ask(to(KIND.identify))!)!
    expect(identity.inBootLoader).toBe(true)
    expect(versionText(identity.firmware)).toBe('0.0.0')
  })

  const refusals: [string, object, string][] = [
    ['an image for another type', { typeCode: 1 }, 'image-type'],
    ['an image that is too large', { length: 8 * 1024 + 1 }, 'image-size'],
    ['an image for another generation', { generation: 2 }, 'image-generation'],
    ['an image for another band', { bands: 2 }, 'image-band'],
    ['an image for another region', { region: 2 }, 'image-region'],
    ['an image for another hardware revision', { hardware: 1 }, 'image-hardware'],
  ]
  for (const [what, change, rule] of refusals)
    it(`refuses ${what} by the rule ${rule}`, () => {
      const rig = started()
      rig.ask(to(KIND.enter))
      const reason = refusal(rig.ask(begin(change)))
      expect(ruleOfRefusal(reason ?? 0)).toBe(rule)
      expect(refusal(rig.ask(eraseBody(ADDRESS.receiver, 0, 1)))).toBe(REFUSAL.notBegun)
    })

  it('does not hear a request for its flash before it has settled', () => {
    const rig = started('wren-trainer', 2000)
    rig.ask(to(KIND.enter), 20)
    expect(rig.ask(begin(), 20)?.[1]).toBe(KIND.begin | REPLY_BIT)
    expect(rig.ask(eraseBody(ADDRESS.receiver, 0, 1), 100)).toBeUndefined()
    rig.wait(2000)
    expect(rig.ask(eraseBody(ADDRESS.receiver, 0, 1))?.[1]).toBe(KIND.erase | REPLY_BIT)
  })

  it('does not hear a write before it has settled, even where flash is erased already', () => {
    const rig = started('wren-trainer', 2000)
    rig.ask(to(KIND.enter), 20)
    rig.ask(begin(), 20)
    const block = writeBody(ADDRESS.receiver, 7 * 1024, payload.subarray(0, 56))
    expect(rig.ask(block, 100)).toBeUndefined()
    expect(rig.memory.program.octets[7 * 1024]).toBe(0xff)
    rig.wait(2000)
    expect(readNumber(rig.ask(block)!)).toBe(7 * 1024)
  })

  it('writes its two records in turn, so that a repeated commit never touches the one that counts', () => {
    const rig = announced()
    rig.ask(eraseBody(ADDRESS.receiver, 0, 8))
    for (let at = 0; at < payload.length; at += 56) {
      const part = new Uint8Array(56).fill(0xff)
      part.set(payload.subarray(at, at + 56))
      const room = Math.ceil(Math.min(56, payload.length - at) / 8) * 8
      rig.ask(writeBody(ADDRESS.receiver, at, part.subarray(0, room)), 30)
    }
    for (const count of [2, 3, 4]) {
      const [newest] = recordsOf(rig.memory)
      expect(rig.ask(to(KIND.commit))?.[1]).toBe(KIND.commit | REPLY_BIT)
      const [now, before] = recordsOf(rig.memory)
      expect(now.record.count).toBe(count)
      expect(now.page).toBe(1 - newest.page)
      expect(before).toEqual(newest)
    }
  })

  it('forgets with its power what it was about to do: no restart comes out of an earlier life', () => {
    const rig = started()
    // The answer to "enter" is still to come when the supply falls under a load from elsewhere.
    rig.ask(to(KIND.enter), 0.05)
    rig.rail.draw(100_000)
    rig.wait(1500)
    expect(readIdentity(rig.ask(to(KIND.identify), 1500)!)?.inBootLoader).toBe(false)
    // Had it remembered, that answer would have been followed by a restart into its boot loader.
    expect(readIdentity(rig.ask(to(KIND.identify), 100)!)?.inBootLoader).toBe(false)
    expect(rig.ask(to(KIND.poll))?.[1]).toBe(KIND.poll | REPLY_BIT)
    const lives = rig.trace
      .done(0)
      .devices.filter(d => d.device === 'receiver')
      .map(d => d.state)
    expect(lives.filter(state => state.startsWith('restarting'))).toEqual([])
  })

  it('takes a repeated write for done, and refuses to write over something else', () => {
    const rig = announced()
    rig.ask(eraseBody(ADDRESS.receiver, 0, 8))
    const block = writeBody(ADDRESS.receiver, 0, payload.subarray(0, 56))
    expect(readNumber(rig.ask(block)!)).toBe(0)
    expect(readNumber(rig.ask(block)!)).toBe(0)
    expect(rig.memory.program.octets.subarray(0, 56)).toEqual(payload.subarray(0, 56))
    const other = writeBody(ADDRESS.receiver, 0, payload.subarray(56, 112))
    expect(refusal(rig.ask(other))).toBe(REFUSAL.flashFailed)
    expect(rig.memory.program.octets.subarray(0, 56)).toEqual(payload.subarray(0, 56))
  })

  it('refuses what lies outside, half words, and requests that it does not know', () => {
    const rig = announced()
    const data = new Uint8Array(56)
    expect(refusal(rig.ask(writeBody(ADDRESS.receiver, 8 * 1024 - 8, data)))).toBe(REFUSAL.outOfBounds)
    expect(refusal(rig.ask(writeBody(ADDRESS.receiver, 0xffff_fff0, data)))).toBe(REFUSAL.outOfBounds)
    expect(refusal(rig.ask(writeBody(ADDRESS.receiver, 1, data)))).toBe(REFUSAL.outOfBounds)
    expect(refusal(rig.ask(writeBody(ADDRESS.receiver, 0, data.subarray(0, 3))))).toBe(REFUSAL.outOfBounds)
    expect(refusal(rig.ask(eraseBody(ADDRESS.receiver, 7, 2)))).toBe(REFUSAL.outOfBounds)
    expect(refusal(rig.ask(to(KIND.erase)))).toBe(REFUSAL.outOfBounds)
    expect(refusal(rig.ask(numberBody(ADDRESS.receiver, KIND.digest, 8 * 1024 + 1)))).toBe(
      REFUSAL.outOfBounds,
    )
    expect(refusal(rig.ask(to(0x6e)))).toBe(REFUSAL.unknownRequest)
  })

  it('does not make valid what is not what was announced', () => {
    const rig = announced()
    rig.ask(eraseBody(ADDRESS.receiver, 0, 8))
    for (let at = 0; at < payload.length; at += 56) {
      const part = payload.slice(at, at + 56)
      const padded = new Uint8Array(Math.ceil(part.length / 8) * 8).fill(0xff)
      padded.set(part)
      if (at === 1120) padded[0] ^= 0x40
      rig.ask(writeBody(ADDRESS.receiver, at, padded), 30)
    }
    expect(refusal(rig.ask(to(KIND.commit)))).toBe(REFUSAL.digestDiffers)
  })

  it('answers by air only while its image runs, or in a session that began by air', () => {
    const rig = started()
    expect(readIdentity(rig.askByAir(to(KIND.identify))!)?.inBootLoader).toBe(false)
    expect(rig.askByAir(to(KIND.enter))?.[1]).toBe(KIND.enter | REPLY_BIT)
    rig.wait(200)
    expect(readIdentity(rig.askByAir(to(KIND.identify))!)?.inBootLoader).toBe(true)
    const byCable = started()
    byCable.ask(to(KIND.enter))
    byCable.wait(200)
    expect(byCable.askByAir(to(KIND.identify))).toBeUndefined()
  })

  it('is off without power, and starts again with it', () => {
    const rig = started()
    rig.rail.cut('pulled')
    expect(rig.ask(to(KIND.identify))).toBeUndefined()
    expect(rig.askByAir(to(KIND.identify))).toBeUndefined()
    rig.rail.energise(0)
    rig.wait(1500)
    expect(readIdentity(rig.ask(to(KIND.identify))!)?.inBootLoader).toBe(false)
  })
})
