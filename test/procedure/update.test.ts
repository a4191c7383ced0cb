import { describe, expect, it } from 'vitest'
import {
  ADDRESS,
  body,
  identityBody,
  KIND,
  numberBody,
  REPLY_BIT,
  readNumber,
} from '../../shared/procedure/bus.ts'
import type { Effect, EffectResult, StoreRequest } from '../../shared/procedure/effects.ts'
import { updateReceiver } from '../../shared/procedure/update.ts'
import { benchImage } from '../../shared/rehearse/image.ts'
import { planFor, stagingOf } from '../../shared/rehearse/table.ts'
import { encodeFrame, FrameDecoder, maxEncodedLength } from '../../shared/wire/hdlc.ts'
import { runScripted } from '../support/scripted.ts'
import { smallBench } from '../support/small-bench.ts'

const bench = smallBench()
const type = bench.catalogue.receiverTypes[0]
const made = benchImage(bench, type, 'wren-6-2.4.0')
if (!made.ok) throw new Error(made.problems[0].message)
const image = made.value
const staging = stagingOf(image, 'F')
const plan = { ...planFor(bench, type, 'cable', staging), stage: [] }

function store(request: StoreRequest): EffectResult {
  if (request.op === 'size' || request.op === 'read') {
    const octets = staging.files.find(f => f.path === request.path)!.octets
    if (request.op === 'size') return { got: 'number', value: octets.length }
    return { got: 'octets', octets: octets.slice(request.offset, request.offset + request.bytes) }
  }
  return { got: 'done' }
}

/** A peer in a few lines, which knows nothing of the simulator: it says yes to everything and keeps what is written. */
function peer(answer: (request: Uint8Array) => Uint8Array | undefined) {
  let waiting: Uint8Array | undefined
  return (effect: Effect): EffectResult => {
    if (effect.do === 'store') return store(effect.request)
    if (effect.do === 'send') {
      new FrameDecoder(80).push(effect.octets, 0, effect.octets.length, (frame, length) => {
        const reply = answer(frame.slice(0, length))
        const out = new Uint8Array(maxEncodedLength(80))
        waiting = reply && out.slice(0, encodeFrame(reply, reply.length, out, 0))
      })
    }
    if (effect.do === 'receive') {
      const octets = waiting
      waiting = undefined
      return octets && effect.until(octets) !== false ? { got: 'octets', octets } : { got: 'timeout' }
    }
    return { got: 'done' }
  }
}

function obedient(crc: number, firmwareAfter = { major: 2, minor: 4, patch: 0 }) {
  const held = new Uint8Array(8192).fill(0xff)
  let restarted = false
  const identity = () =>
    identityBody(ADDRESS.receiver, {
      inBootLoader: !restarted,
      typeCode: 1,
      firmware: restarted ? firmwareAfter : { major: 2, minor: 1, patch: 0 },
      generation: 3,
      pageBytes: 1024,
      programPages: 8,
      writeOctets: 56,
    })
  const answer = (request: Uint8Array): Uint8Array | undefined => {
    const kind = request[1]
    if (request[0] !== ADDRESS.receiver) return undefined
    if (kind === KIND.identify) return identity()
    if (kind === KIND.write) {
      held.set(request.subarray(6), readNumber(request))
      return numberBody(ADDRESS.receiver, KIND.write | REPLY_BIT, readNumber(request)!)
    }
    if (kind === KIND.digest) return numberBody(ADDRESS.receiver, KIND.digest | REPLY_BIT, crc)
    if (kind === KIND.restart) restarted = true
    return body(ADDRESS.receiver, kind | REPLY_BIT, kind === KIND.erase ? [...request.subarray(2, 5)] : [])
  }
  return { held, answer }
}

describe('the update procedure against a peer of its own', () => {
  it('sends the whole image, octet for octet, and ends with what the receiver says it runs', () => {
    const { held, answer } = obedient(image.card.crc32)
    const { result } = runScripted(updateReceiver(plan), peer(answer))
    expect(result).toMatchObject({
      ended: 'done',
      attempts: 1,
      retries: 0,
      identity: { inBootLoader: false },
    })
    expect(held.subarray(0, image.payload.length)).toEqual(image.payload)
    expect(held.subarray(image.payload.length).every(o => o === 0xff)).toBe(true)
  })

  it('does not believe a receiver that holds something else, and tries once more', () => {
    const { result } = runScripted(updateReceiver(plan), peer(obedient(image.card.crc32 ^ 1).answer))
    expect(result).toMatchObject({ ended: 'failed', attempts: 2, code: 'verify-differs' })
  })

  it('does not believe a receiver that runs another version afterwards', () => {
    const { answer } = obedient(image.card.crc32, { major: 2, minor: 1, patch: 0 })
    const { result } = runScripted(updateReceiver({ ...plan, attempts: 1 }), peer(answer))
    expect(result).toMatchObject({ ended: 'failed', code: 'not-started' })
    expect(result.text).toContain('2.1.0, not 2.4.0')
  })

  it('on a dead line gives up after the second attempt, with the pause between them', () => {
    const { result, effects } = runScripted(
      updateReceiver(plan),
      peer(() => undefined),
    )
    expect(result).toMatchObject({ ended: 'failed', attempts: 2, code: 'no-answer' })
    expect(effects.filter(e => e.do === 'wait' && e.ms === plan.timing.pauseMs)).toHaveLength(1)
  })

  it('ends at once where the radio does not open the line, and hands its rule on', () => {
    const { result, effects } = runScripted(updateReceiver(plan), effect =>
      effect.do === 'line'
        ? { got: 'refused', rule: 'radio-battery', text: 'The battery has 6.3 V.' }
        : peer(() => undefined)(effect),
    )
    expect(result).toMatchObject({ ended: 'failed', attempts: 1, code: 'radio-refused' })
    expect(
      effects.some(e => e.do === 'say' && e.event.kind === 'refused' && e.event.rule === 'radio-battery'),
    ).toBe(true)
  })

  it('ends the attempt where there is no line', () => {
    const { result } = runScripted(updateReceiver(plan), effect =>
      effect.do === 'line' ? { got: 'failed', why: 'no-line' } : peer(() => undefined)(effect),
    )
    expect(result).toMatchObject({
      ended: 'failed',
      code: 'no-answer',
      text: expect.stringContaining('no line'),
    })
  })

  it('erases nothing when the image on the card is not what its card says', () => {
    const { effects, result } = runScripted(updateReceiver(plan), effect => {
      const answer = peer(obedient(0).answer)(effect)
      if (effect.do !== 'store' || effect.request.op !== 'read' || answer.got !== 'octets') return answer
      return effect.request.path === staging.payloadPath
        ? { got: 'octets', octets: answer.octets.map((o, i) => (i === 9 ? o ^ 1 : o)) }
        : answer
    })
    expect(result).toMatchObject({ ended: 'failed', attempts: 1, code: 'image-damaged' })
    expect(effects.some(e => e.do === 'send')).toBe(false)
  })

  it('ends when the card goes, at any read', () => {
    for (let failing = 0; failing < 6; failing++) {
      let reads = 0
      const answer = peer(obedient(image.card.crc32).answer)
      const { result } = runScripted(updateReceiver(plan), effect =>
        effect.do === 'store' && reads++ === failing ? { got: 'failed', why: 'absent' } : answer(effect),
      )
      expect(result).toMatchObject({ ended: 'failed', code: 'card-absent' })
    }
  })
})
