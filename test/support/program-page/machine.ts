import type { ProgramClient } from '../../../renderer/bench/program/client.ts'
import type { DialectListed } from '../../../shared/api/dialects.ts'
import type { PortInfo } from '../../../shared/api/ports.ts'
import type { CautionQuestion, Precondition, Rehearsed } from '../../../shared/bench-run/check.ts'
import type { LaneReport, WriteEnding } from '../../../shared/bench-run/lane.ts'
import { demoBench, demoDefaults } from '../../../shared/demo/bench.ts'
import { stAn3155 } from '../../../shared/dialect/built-in/st-an3155.ts'
import { receiverStateWords } from '../../../shared/dialect/plan.ts'
import { rehearse } from '../../../shared/rehearse/rehearse.ts'
import { packTrace } from '../../../shared/sim/pack.ts'
import type { TracePiece } from '../../../shared/sim/trace-piece.ts'

/** A machine for looking at screens: it answers as the contract says, from a script, and writes nothing. */

const port = (place: string, more: Partial<PortInfo> = {}): PortInfo => ({
  ...{ place, kind: 'adapter', what: 'CP2102 adapter of Silicon Labs', isTyped: false },
  can: 'rates up to 921600, control lines, break',
  nameStays: 'The name stays with this adapter, in whatever socket it is.',
  ...{ state: 'free', stateText: 'free', latencyMs: 1, latencyFrom: 'usual for this chip', ...more },
})

export const ports: PortInfo[] = [
  port('/dev/ttyUSB0', { name: 'Red one' }),
  port('/dev/ttyUSB1', {
    what: 'FT232R adapter of FTDI',
    ...{ latencyMs: 16, latencyFrom: 'read from the system' },
  }),
  port('/dev/ttyUSB2', {
    ...{ state: 'no-permission', stateText: 'no permission', what: 'CH340 adapter of WCH' },
    remedy: 'Add yourself to the group dialout (sudo usermod -aG dialout sam), then log out and in again.',
  }),
  port('workshop.local:2217', {
    ...{ kind: 'server', what: 'serial server (RFC 2217)', isTyped: true, state: 'not-known' },
    ...{ stateText: 'found out when it is opened', latencyMs: 20, latencyFrom: 'a usual local network' },
    nameStays: 'The name stays with this address.',
  }),
]

const can = { identify: true, backup: true, verify: 'read-back', start: true, prove: true } as const
const dialect = (name: string, title: string, more: Partial<DialectListed> = {}): DialectListed => ({
  ...{
    name,
    title,
    from: 'built-in',
    notes: null,
    baud: [115_200, 57_600, 9600],
    oneWire: false,
    inverted: false,
    controls: null,
    can,
  },
  ...{ source: { text: 'STMicroelectronics AN3155', date: 'July 2025' }, identity: [], ...more },
})
const dialects = [
  dialect('preflash-bus', 'Preflash bus', { baud: [], oneWire: true, inverted: null }),
  dialect('st-an3155', 'ST AN3155, UART boot ROM'),
  dialect('xmodem-1k', 'XMODEM-1K', {
    can: { identify: false, backup: false, verify: 'none', start: false, prove: false },
  }),
]

const KEY = 'a'.repeat(64)
const step = (name: LaneReport['step'], startMs: number, endMs: number, attempt = 1) => ({
  ...{ step: name, attempt, startMs, endMs },
})
const rehearsed: Rehearsed = {
  ...{ key: KEY, ok: true, simulatedMs: 31_200, attempts: 1, retries: 0 },
  sentence: 'The receiver runs the new image, and says so.',
  steps: [
    step('quiet', 0, 300),
    step('enter', 300, 900),
    step('identify', 900, 1100),
    step('backup', 1100, 6000),
    step('erase', 6000, 9000),
    step('write', 9000, 25_000),
    step('verify', 25_000, 30_000),
    step('restart', 30_000, 31_200),
  ],
}

const ending = (outcome: WriteEnding['outcome'], more: Partial<WriteEnding> = {}): WriteEnding => ({
  ...{ outcome, code: null, text: '', state: 'runs-new', attempts: 2, retries: 3, seconds: 40.2 },
  stateWords: 'The receiver runs the new image, and said so itself.',
  nextWords: 'Bind it again where needed, then check channels, failsafe and range.',
  proof: { verified: 'read-back', started: true, identified: true },
  identity: [
    { label: 'Type', value: 'Wren 6' },
    { label: 'Version', value: '2.3.1' },
  ],
  backupFile: 'backups/wren-trainer 2026-11-25 15.02.11.bin',
  diagnosis: null,
  afterwards: ['Bind it to the Club Tarn again.', 'Set and test the fail-safe.', 'Check the range.'],
  ...more,
})

export const lane = (n: number, more: Partial<LaneReport> = {}): LaneReport => ({
  lane: `lane-${n}`,
  sessionId: `0192f0c1-0000-7000-8000-00000000000${n}`,
  port: { key: `/dev/ttyUSB${n}`, label: n === 0 ? 'Red one' : `/dev/ttyUSB${n}` },
  receiver: { id: 'wren-trainer', nickname: 'Wren in the trainer' },
  image: { name: 'Wren 6 2.3.1', version: '2.3.1', bytes: 122_880 },
  ...{ dialect: 'Preflash bus', step: 'write', done: 76_000, total: 122_880, octetsPerSecond: 9874 },
  ...{ secondsLeft: 4.8, attempt: 2, retries: 3, elapsedMs: 30_500, rehearsed, end: null },
  notes: [
    { atMs: 900, level: 'info', text: 'It names itself Wren 6, version 2.1.0.' },
    { atMs: 9100, level: 'caution', text: 'The first write failed; the second begins after the pause.' },
    { atMs: 14_000, level: 'good', text: 'The copy of what was there is kept.' },
  ],
  steps: [
    step('open', 0, 40),
    step('quiet', 40, 320),
    step('enter', 320, 940),
    step('identify', 940, 1140),
    step('backup', 1140, 6100),
    step('erase', 6100, 9100),
    step('pause', 9100, 11_600),
    step('enter', 11_600, 12_200, 2),
    step('erase', 12_200, 15_400, 2),
    { ...step('write', 15_400, 0, 2), endMs: null },
  ],
  differs: [
    {
      atMs: 9100,
      step: 'erase',
      kind: 'failed-attempt',
      severity: 'note',
      expected: 'it goes through',
      seen: 'attempt 1 ended: The receiver does not answer any more',
    },
    {
      atMs: 1140,
      step: 'identify',
      kind: 'said-otherwise',
      severity: 'look',
      expected: 'Firmware 2.1.0',
      seen: 'Firmware 2.0.4',
    },
    {
      atMs: 6100,
      step: 'backup',
      kind: 'later-answers',
      severity: 'expected',
      expected: 'after 2.1 ms',
      seen: 'after 18.4 ms',
    },
    {
      atMs: 15_400,
      step: 'write',
      kind: 'slower',
      severity: 'note',
      expected: '16.0 s, 7680 octets a second',
      seen: '25.1 s, 4895 octets a second so far',
    },
  ],
  ...more,
})

const SCRIPTS: Readonly<Record<string, readonly LaneReport[]>> = {
  fresh: [],
  live: [lane(0)],
  done: [lane(0, { end: ending('updated'), step: 'restart' })],
  failed: [
    lane(0, {
      end: ending('port-lost', {
        text: 'The adapter was pulled.',
        ...{ state: 'partly-written', stateWords: receiverStateWords['partly-written'].is },
        nextWords: 'Write it again from the start. Do not use the receiver before that went through.',
        diagnosis: { symptom: 'stops', answers: {} },
        afterwards: [],
      }),
    }),
  ],
  many: Array.from({ length: 8 }, (_, n) =>
    lane(n, { done: 12_000 * (n + 1), end: n === 2 ? ending('updated') : null }),
  ),
}

const precondition = (
  id: Precondition['id'],
  claim: string,
  holds: Precondition['holds'],
  why: string[] = [],
  cure: string | null = null,
): Precondition => ({ id, claim, holds, why, cure })

const questions: CautionQuestion[] = [
  {
    id: 'motor-shaft',
    question: 'What is on the motor shaft?',
    look: 'Look at the motor of the model, not at your notes.',
    choices: [
      { id: 'propeller', label: 'A propeller' },
      { id: 'nothing', label: 'Nothing: the propeller lies on the table' },
      { id: 'no-motor', label: 'There is no motor' },
    ],
  },
  {
    id: 'near',
    question: 'Who or what is within reach of the surfaces?',
    look: 'Servos may move to any place at once.',
    choices: [
      { id: 'somebody', label: 'A hand, a cable, a tool' },
      { id: 'nobody', label: 'Nobody and nothing' },
    ],
  },
]

/** A rehearsed line with the supply left out, as nobody measures it at a real port. */
function trace() {
  const done = rehearse({
    bench: demoBench(),
    ...{ receiverId: demoDefaults.receiverId, route: 'cable', seed: 1, faults: [], dropOutside: false },
    image: { kind: 'bench', imageId: demoDefaults.imageId },
  })
  if (!done.ok) throw new Error(done.problems[0].message)
  return packTrace({ ...done.value.trace, supply: { ...done.value.trace.supply, count: 0 } })
}

/** Of a lane that has ended: all that went over its line, in one piece. */
function wholePiece(): TracePiece {
  const { endNs, lanes, progress, phases, events } = trace()
  const octets = lanes.map(lane => lane.octets.length)
  return {
    ...{ of: 'session', anew: true, endNs, progress, phases, events, more: false },
    lanes: lanes.map((lane, at) => ({ ...lane, at, fromBurst: 0, fromOctet: 0 })),
    next: {
      ...{ of: 'session', lane: lanes.length - 1, bursts: lanes.at(-1)?.burstCount ?? 0 },
      ...{ octets: octets.at(-1) ?? 0, progress: progress.count },
      ...{ phases: phases.length, events: events.length },
    },
  }
}

export function scriptedMachine(script: string): unknown {
  let isRehearsed = script !== 'fresh'
  let listed = ports
  const batch = {
    ...{ running: script === 'batch', done: 11, failed: 1 },
    ports: ports.slice(0, 2).map((p, i) => ({
      ...{ key: p.place, label: p.name ?? p.place, lane: null },
      waiting: i === 0 ? 'Plug the next receiver in.' : 'It answers: Wren 6, version 2.1.0. Writing begins.',
    })),
    tally: Array.from({ length: 12 }, (_, i) => ({
      ...{ atMs: 1.7e12 + i * 60_000, port: 'Red one', identity: `Wren 6, serial ${1200 + i}` },
      ...{
        outcome: i === 4 ? 'failed' : 'updated',
        text: i === 4 ? 'It did not answer after the erase.' : '',
      },
    })),
  }
  const answer: Readonly<Record<string, (request: never) => unknown>> = {
    'ports.list': () => ({ ports: listed }),
    'ports.name': ({ place, name }: { place: string; name: string }) => {
      listed = listed.map(p => (p.place === place ? { ...p, name } : p))
      return { ports: listed }
    },
    'ports.add': ({ typed }: { typed: string }) => {
      listed = [...listed, port(typed, { kind: 'typed', what: 'typed in', isTyped: true })]
      return { ports: listed }
    },
    'dialects.list': () => ({ dialects, broken: [] }),
    'dialects.read': ({ name }: { name: string }) => ({
      text: name === 'preflash-bus' ? null : `${JSON.stringify(stAn3155, null, 2)}\n`,
    }),
    'library.list': () => ({ entries: [] }),
    'write.lanes': () => ({ lanes: SCRIPTS[script] ?? [], batch: null }),
    'write.interrupted': () => ({ sessions: [] }),
    'write.rehearse': () => {
      isRehearsed = true
      return { rehearsed, trace: trace() }
    },
    'write.trace': () => ({ piece: wholePiece() }),
    'write.recover': ({ plan }: { plan: unknown }) => ({
      recovery: null,
      plan: plan ?? null,
      words: 'Again.',
    }),
    'write.check': ({ cautions }: { cautions: Record<string, string> }) => {
      const isCareful = cautions['motor-shaft'] !== 'propeller' && cautions.near !== 'somebody'
      const isAnswered = Object.keys(cautions).length === questions.length
      return {
        key: KEY,
        ready: isRehearsed && isCareful && isAnswered,
        questions,
        rehearsed: isRehearsed ? rehearsed : null,
        preconditions: [
          precondition('port', 'The port is free.', 'yes'),
          precondition('dialect', 'The dialect can be spoken over this line.', 'yes'),
          precondition('wiring', 'The wiring is safe.', 'yes'),
          precondition(
            'supply',
            'The supply carries the write.',
            'unknown',
            ['What the servos take is not known.'],
            'Unplug the servos for the write.',
          ),
          precondition('image', 'The image fits the receiver.', 'yes'),
          isRehearsed
            ? precondition('rehearsed', 'This very write has been rehearsed and went well.', 'yes')
            : precondition(
                'rehearsed',
                'This very write has been rehearsed and went well.',
                'no',
                ['It has not been rehearsed with this port, wiring, image and dialect.'],
                'Rehearse it below.',
              ),
          isAnswered && !isCareful
            ? precondition(
                'cautions',
                'Nobody can be hurt.',
                'no',
                ['A propeller is on the shaft.'],
                'Take it off.',
              )
            : precondition('cautions', 'Nobody can be hurt.', isAnswered ? 'yes' : 'unknown'),
        ],
      }
    },
  }
  return {
    call: async (method: string, request: never) => answer[method]?.(request) ?? {},
    on: (event: string, listen: (data: unknown) => void) => {
      if (event === 'write.batch' && script === 'batch') setTimeout(() => listen(batch))
      return () => {}
    },
  } satisfies { call: unknown; on: unknown } as unknown as ProgramClient
}
