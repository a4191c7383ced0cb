import {
  ADDRESS,
  announcementBody,
  body,
  eraseBody,
  identityBody,
  KIND,
  numberBody,
  REPLY_BIT,
  typeCode,
  writeBody,
} from '../../shared/procedure/bus.ts'
import type { RehearsalReport } from '../../shared/rehearse/report.ts'
import {
  BURST,
  FLASH_OP,
  LaneRecorder,
  type PhaseId,
  type Trace,
  TraceRecorder,
} from '../../shared/sim/trace.ts'
import { encodeFrame, maxEncodedLength } from '../../shared/wire/hdlc.ts'
import { characterNs } from '../../shared/wire/uart.ts'

/** A session put together by hand, so that the screen can be tested without the simulation. */
export interface FixtureOptions {
  readonly imageBytes?: number
  /** Power goes away at this share of the write phase. */
  readonly cutAt?: number
}

const CHARACTER_NS = characterNs(115_200)
const IDENTITY = {
  inBootLoader: true,
  typeCode: typeCode('aldwick-wren-6'),
  firmware: { major: 2, minor: 1, patch: 0 },
  generation: 3,
  pageBytes: 1024,
  programPages: 512,
  writeOctets: 56,
}

class Script {
  readonly trace = new TraceRecorder()
  readonly lane = new LaneRecorder('bus', 'Telemetry bus', 115_200, 10, 'none')
  nowNs = 0
  constructor() {
    this.lane.talkers.push('radio', 'receiver', 'sensor')
    this.trace.lanes.push(this.lane)
  }
  say(talker: number, frameBody: Uint8Array, gapNs = 200_000): number {
    const first = this.lane.reserve(maxEncodedLength(frameBody.length))
    const count = encodeFrame(frameBody, frameBody.length, this.lane.octets, first)
    const burst = this.lane.burst(this.nowNs, talker, first, count)
    this.nowNs = Math.round(this.nowNs + count * CHARACTER_NS) + gapNs
    return burst
  }
  phase(phase: PhaseId, attempt: number) {
    this.trace.event(this.nowNs, { kind: 'phase', phase, attempt })
  }
  progress(done: number, total: number) {
    this.trace.event(this.nowNs, { kind: 'progress', done, total })
  }
}

const ask = (kind: number, payload: number[] = []) => body(ADDRESS.receiver, kind, payload)
const yes = (kind: number) => body(ADDRESS.receiver, kind | REPLY_BIT)

function poll(s: Script, rounds: number) {
  for (let i = 0; i < rounds; i++) {
    s.say(0, body(0x21, KIND.poll))
    s.say(2, body(0x21, KIND.poll | REPLY_BIT, [1, 2, 3, i & 0xff, 0x7e, 0x7d, 7, 8, 9, 10]), 4_000_000)
  }
}

function collide(s: Script) {
  const startNs = s.nowNs
  const first = s.say(0, ask(KIND.enter))
  s.nowNs = startNs + Math.round(3.3 * CHARACTER_NS)
  const second = s.say(2, body(0x21, KIND.poll | REPLY_BIT, [9, 9, 9, 9, 9, 9, 9, 9, 9, 9]), 100_000_000)
  for (const burst of [first, second]) s.lane.flags.set(burst, BURST.collided)
  s.lane.heard.push({
    atNs: s.nowNs - 100_000_000,
    octets: Uint8Array.of(0x7e, 0x00, 0x10),
    framingErrors: 2,
  })
}

/** A cable session of the demo's Wren with a first attempt that a sensor spoils. */
export function fixtureTrace({ imageBytes = 16 * 1024, cutAt }: FixtureOptions = {}): Trace {
  const s = new Script()
  const { trace } = s
  trace.device(0, 'radio', 'on', true)
  trace.device(0, 'card', 'in the radio', true)
  trace.device(0, 'cable', 'plugged in', true)
  trace.device(0, 'receiver', 'running 2.1.0', true)
  trace.device(0, 'supply', 'feeding through the cable', true)
  trace.device(0, 'sensor', 'talking', true)
  trace.supply(0, 4.92, 130)
  s.phase('check', 1)
  s.nowNs += 30_000_000
  s.phase('quiet', 1)
  poll(s, 6)
  s.say(0, body(ADDRESS.all, KIND.quiet))
  s.phase('enter', 1)
  collide(s)
  trace.event(s.nowNs, {
    kind: 'attempt-failed',
    attempt: 1,
    code: 'no-answer',
    text: 'The receiver did not answer.',
  })
  s.nowNs += 400_000_000
  trace.device(s.nowNs, 'sensor', 'quiet', true)
  s.phase('quiet', 2)
  s.say(0, body(ADDRESS.all, KIND.quiet))
  s.phase('enter', 2)
  s.say(0, ask(KIND.enter))
  s.say(1, yes(KIND.enter), 120_000_000)
  trace.device(s.nowNs, 'receiver', 'in its boot loader', true)
  s.phase('identify', 2)
  s.say(0, ask(KIND.identify))
  s.say(1, identityBody(ADDRESS.receiver, IDENTITY))
  s.phase('begin', 2)
  s.say(
    0,
    announcementBody(ADDRESS.receiver, {
      typeCode: IDENTITY.typeCode,
      programAddress: 0,
      length: imageBytes,
      crc32: 0x1234abcd,
      version: { major: 2, minor: 4, patch: 0 },
      sequenceNumber: 24,
      generation: 3,
      bands: 1,
      region: 1,
      wireless: 1,
      hardware: 3,
      convertsFrom: 0,
    }),
  )
  s.say(1, yes(KIND.begin))
  eraseAndWrite(s, imageBytes, cutAt)
  if (cutAt === undefined) finish(s, imageBytes)
  return trace.done(s.nowNs)
}

function eraseAndWrite(s: Script, imageBytes: number, cutAt: number | undefined) {
  const { trace } = s
  const pages = Math.ceil(imageBytes / 1024)
  s.phase('erase', 2)
  for (let page = 0; page < pages; page += 8) {
    s.progress(page, pages)
    const count = Math.min(8, pages - page)
    s.say(0, eraseBody(ADDRESS.receiver, page, count), 0)
    for (let k = 0; k < count; k++) {
      trace.flashOp(FLASH_OP.erase, (page + k) * 1024, 1024, s.nowNs, s.nowNs + 27_000_000, false)
      trace.supply(s.nowNs, 4.84, 165)
      s.nowNs += 27_000_000
    }
    trace.supply(s.nowNs, 4.92, 130)
    s.say(1, yes(KIND.erase))
  }
  s.phase('write', 2)
  let writes = 0
  for (let at = 0; at < imageBytes; at += 56, writes++) {
    const data = Uint8Array.from(
      { length: Math.min(56, imageBytes - at) },
      (_, i) => (at * 7 + i * 31 + (i ^ (at >> 3))) & 0xff,
    )
    s.progress(at, imageBytes)
    const burst = s.say(0, writeBody(ADDRESS.receiver, at, data), 50_000)
    if (writes === 40) {
      s.lane.flags.set(burst, BURST.noisy)
      s.lane.heard.push({ atNs: s.nowNs - 50_000, octets: Uint8Array.of(0x7e, 0x10, 0x14), framingErrors: 1 })
      s.nowNs += 80_000_000
      trace.event(s.nowNs, {
        kind: 'retry',
        what: 'write',
        tries: 2,
        text: `No answer to the write at ${at}; sent again.`,
      })
      s.say(0, writeBody(ADDRESS.receiver, at, data), 50_000)
    }
    const cut = cutAt !== undefined && at >= cutAt * imageBytes
    const endNs = s.nowNs + Math.ceil(data.length / 2) * 52_500
    trace.flashOp(FLASH_OP.program, at, data.length, s.nowNs, endNs, cut)
    if (writes % 16 === 0) trace.supply(s.nowNs, 4.87 + (writes % 5) / 100, 150)
    if (cut) return cutPower(s)
    s.nowNs = endNs
    s.say(1, numberBody(ADDRESS.receiver, KIND.write | REPLY_BIT, at), 60_000)
  }
  s.progress(imageBytes, imageBytes)
}

function cutPower(s: Script) {
  const { trace } = s
  trace.event(s.nowNs, { kind: 'fault', fault: 'power-cut', text: 'The supply of the receiver went away.' })
  trace.device(s.nowNs, 'receiver', 'without power', false)
  trace.device(s.nowNs, 'supply', 'cut', false)
  trace.supply(s.nowNs, 0, 0)
  s.nowNs += 2_000_000_000
  trace.event(s.nowNs, {
    kind: 'attempt-failed',
    attempt: 2,
    code: 'lost-contact',
    text: 'The receiver no longer answers.',
  })
  trace.event(s.nowNs, {
    kind: 'outcome',
    outcome: 'needs-cable',
    text: 'The receiver waits in its boot loader; a cable brings it back.',
  })
}

function finish(s: Script, imageBytes: number) {
  const { trace } = s
  s.phase('verify', 2)
  s.say(0, numberBody(ADDRESS.receiver, KIND.digest, imageBytes), 30_000_000)
  s.say(1, numberBody(ADDRESS.receiver, KIND.digest | REPLY_BIT, 0x1234abcd))
  s.phase('commit', 2)
  s.say(0, ask(KIND.commit), 0)
  trace.flashOp(FLASH_OP.recordErase, 1024, 1024, s.nowNs, s.nowNs + 25_000_000, false)
  trace.flashOp(FLASH_OP.recordProgram, 1024, 40, s.nowNs + 25_000_000, s.nowNs + 26_000_000, false)
  s.nowNs += 26_000_000
  s.say(1, yes(KIND.commit))
  s.phase('restart', 2)
  s.say(0, ask(KIND.restart))
  s.say(1, yes(KIND.restart), 300_000_000)
  trace.device(s.nowNs, 'receiver', 'running 2.4.0', true)
  s.say(0, ask(KIND.identify))
  s.say(
    1,
    identityBody(ADDRESS.receiver, {
      ...IDENTITY,
      inBootLoader: false,
      firmware: { major: 2, minor: 4, patch: 0 },
    }),
  )
  trace.closePhase(s.nowNs, 'done')
  trace.event(s.nowNs, { kind: 'outcome', outcome: 'updated', text: 'The receiver runs the new image.' })
}

/** A report that fits the trace. */
export function fixtureReport(trace: Trace, cut: boolean): RehearsalReport {
  return {
    outcome: cut ? 'needs-cable' : 'updated',
    route: 'cable',
    seed: 1,
    simulatedMs: trace.endNs / 1e6,
    wallMs: 80,
    retries: 2,
    attempts: 2,
    sentence: cut
      ? 'The receiver waits in its boot loader; a cable brings it back.'
      : 'The receiver runs the new image.',
    why: cut
      ? 'Its supply went away while it was being written.'
      : 'The second attempt succeeded, once the sensor had gone quiet.',
    receiver: {
      id: 'wren-trainer',
      nickname: 'Wren in the club trainer',
      typeId: 'aldwick-wren-6',
      firmwareBefore: '2.1.0',
      firmwareAfter: cut ? 'unknown' : '2.4.0',
      programAddress: 0,
      programBytes: 524_288,
      pageBytes: 1024,
    },
    image: {
      name: 'Wren 6, 2.4.0',
      version: '2.4.0',
      bytes: 262_144,
      sha256: '0'.repeat(64),
      droppedOutsideBytes: 0,
    },
    flashEqualsImage: !cut,
    faults: cut ? [{ name: 'power-cut', value: '25' }] : [],
    findings: [
      {
        rule: 'supply-carries-load',
        claim: 'The supply carries the load of erasing and writing.',
        holds: cut ? 'no' : 'yes',
        severity: 'block',
        enforcedBy: 'physics',
        sentence: cut
          ? 'The supply goes away after 25 s.'
          : 'The cable feeds up to 500 mA; the receiver needs 165 mA.',
        evidence: [
          { label: 'Limit', value: '500 mA', known: true },
          { label: 'Need', value: '165 mA', known: true },
        ],
        remedies: cut
          ? [
              {
                id: 'other-supply',
                label: 'Use a charged pack with sound leads',
                minutes: 5,
                reversible: true,
              },
            ]
          : [],
        source: 'Common practice, no source',
      },
      {
        rule: 'image-fits-type',
        claim: 'The image is for this type of receiver.',
        holds: 'yes',
        severity: 'block',
        enforcedBy: 'receiver',
        sentence: 'The image card names Wren 6.',
        evidence: [{ label: 'Image is for', value: 'Wren 6', known: true }],
        remedies: [],
        source: 'RFC 9124, class ID',
      },
      {
        rule: 'hardware-known',
        claim: 'The hardware revision is one the image is for.',
        holds: 'unknown',
        severity: 'warn',
        enforcedBy: 'computer',
        sentence: 'Nobody has read the revision off the label.',
        evidence: [{ label: 'Revision', value: 'unknown', known: false }],
        remedies: [{ id: 'read-label', label: 'Read the label', minutes: 2, reversible: true }],
        source: 'RFC 9124',
      },
    ],
    events: trace.events.map(({ atNs, event }) => ({
      atMs: atNs / 1e6,
      kind: event.kind === 'progress' ? 'note' : event.kind,
      level:
        event.kind === 'attempt-failed' || event.kind === 'fault'
          ? 'danger'
          : event.kind === 'retry'
            ? 'caution'
            : 'info',
      text: 'text' in event ? event.text : event.kind === 'phase' ? event.phase : '',
    })),
    recovery: cut
      ? {
          steps: [
            {
              text: 'Restore the supply.',
              expect: 'The receiver shows that it is in its boot loader.',
              minutes: 2,
            },
            {
              text: 'Connect the update cable, keyed side to keyed side.',
              caution: 'Unplug the pack: the cable feeds the receiver.',
              minutes: 2,
            },
            { text: 'Start the update by cable again.', expect: 'All phases end with done.', minutes: 3 },
          ],
          rehearsed: { outcome: 'updated', simulatedMs: 61_000, standIn: false },
        }
      : null,
    cautions: [
      'Take the propeller off, or disconnect the drive.',
      'Do not feed the receiver from two supplies.',
    ],
    afterwards: [
      'Bind again if the receiver does not answer the radio.',
      'Set the failsafe and try it.',
      'Make a range check at reduced power. No flight before.',
    ],
  }
}
