import type { WriteEnd } from '../dialect/plan.ts'
import { type Result, succeeded } from '../model/problem.ts'
import { isKnown } from '../model/units.ts'
import type { SessionEvent } from '../procedure/effects.ts'
import type { Held } from '../rehearse/emulate.ts'
import type { FaultChoice } from '../rehearse/report.ts'
import type { ReceiverMemory } from '../sim/memory.ts'
import type { Trace } from '../sim/trace.ts'
import type { Rehearsed, Said } from './check.ts'
import { type Effort, effortIn } from './effort.ts'
import { simulatedEnd } from './far-ends.ts'
import type { PlannedWrite } from './ready.ts'
import { MemoryStore } from './store.ts'
import { VirtualHost, type VirtualHostOptions } from './virtual-host.ts'
import { repeatsOf, Watched } from './watched.ts'

/** The very plan, carried out in the simulator by the same procedure. */
export interface WriteRehearsal {
  readonly rehearsed: Rehearsed
  readonly trace: Trace
  /** Undefined where it was stopped on the way. */
  readonly end: WriteEnd | undefined
  readonly events: readonly SessionEvent[]
  readonly held: Held
  readonly memory: ReceiverMemory
  readonly effects: number
  /** What it showed of itself, as a write on a port does. */
  readonly watched: Watched
}

export interface RehearseWriteOptions {
  readonly seed?: number
  readonly faults?: readonly FaultChoice[]
  readonly memory?: ReceiverMemory
  /** Of the port, in milliseconds. */
  readonly latencyMs?: number
  readonly stopBefore?: VirtualHostOptions['stopBefore']
  /** Lets the receiver live on for so long after the end. */
  readonly afterMs?: number
}

const REHEARSED_BACKUP = 'backup.bin'

/** @returns problems where this plan cannot be rehearsed at all */
export function rehearseWrite(
  planned: PlannedWrite,
  options: RehearseWriteOptions = {},
): Result<WriteRehearsal> {
  const { seed = 1, faults, memory: held, latencyMs, stopBefore } = options
  const laid = simulatedEnd(planned, {
    seed,
    ...(faults ? { faults } : {}),
    ...(held ? { memory: held } : {}),
  })
  if (!laid.ok) return laid
  const { far, memory } = laid.value
  const events: SessionEvent[] = []
  const watched = new Watched()
  const files = new MemoryStore()
  const host: VirtualHost = new VirtualHost(far, {
    store: request => files.ask(request),
    ...(latencyMs === undefined ? {} : { latencyMs }),
    stopBefore: (effect, index) => {
      watched.before(effect, host.nowNs / 1e6)
      return stopBefore?.(effect, index) ?? false
    },
    onEvent: (event, atMs) => {
      events.push(event)
      watched.tell(event, atMs)
    },
  })
  const end = host.run(planned.ready.procedure(REHEARSED_BACKUP))?.value
  const endNs = host.nowNs
  watched.end(end, endNs / 1e6)
  const afterMs = options.afterMs ?? (notesItself(planned, end) ? NOTED_MS : 0)
  if (afterMs > 0) host.wait(afterMs)
  const now = laid.value.held()
  const how = end === undefined ? 'broken-off' : end.ended === 'done' ? 'done' : 'failed'
  return succeeded({
    rehearsed: summary(planned, end, memory, now, watched, effortIn(events), endNs / 1e6),
    trace: laid.value.trace(endNs, how),
    ...{ watched, end, events, held: now, memory, effects: host.effects },
  })
}

function summary(
  planned: PlannedWrite,
  end: WriteEnd | undefined,
  memory: ReceiverMemory,
  held: Held,
  watched: Watched,
  brokenOff: Effort,
  simulatedMs: number,
): Rehearsed {
  const holds = holdsImage(memory, planned)
  const ok = end?.ended === 'done' && holds && (end.state !== 'runs-new' || held.outcome === 'updated')
  return {
    key: planned.key,
    ok,
    sentence: sentenceOf(planned, end, held, ok),
    simulatedMs: Math.round(simulatedMs),
    attempts: end?.attempts ?? brokenOff.attempts,
    retries: end?.retries ?? brokenOff.retries,
    steps: watched.steps.map(({ step, attempt, startMs, endMs, seen }) => ({
      ...{ step, attempt, startMs: Math.round(startMs) },
      endMs: Math.round(endMs ?? simulatedMs),
      ...(seen ? { seen } : {}),
    })),
    said: watched.said.flatMap(said => expectedOf(said, planned)),
    repeats: repeatsOf(watched.repeats),
    waits: watched.waits ?? 0,
  }
}

/** The simulated receiver says of versions what bench and image say, and otherwise what its dialect has as examples. */
function expectedOf(said: Said, { plan, ready, unit, image }: PlannedWrite): Said[] {
  if (said.role === 'version') {
    const version = said.when === 'before' ? unit.firmware : image.card.version
    return isKnown(version) ? [{ ...said, value: version }] : []
  }
  return [{ ...said, isSure: ready.chosen.kind === 'bus' || plan.expect[said.name] !== undefined }]
}

/** The image, octet for octet, and nothing of an older one behind it but what no erasing reaches. */
export function holdsImage(memory: ReceiverMemory, { ready, type }: PlannedWrite): boolean {
  const { octets, address } = ready.image
  const from = address - type.flash.programAddress
  const program = memory.program.octets.subarray(from, from + octets.length)
  return program.length === octets.length && program.every((octet, i) => octet === octets[i])
}

/** It writes flash behind the back of the receiver's own boot loader. */
const BOOT_ROM = 'st-an3155'
/** Time for two operations on a page of flash, whatever the flash. */
const NOTED_MS = 500

/** The program that was started goes on by itself, for the boot loader to know of it. */
const notesItself = ({ ready, type }: PlannedWrite, end: WriteEnd | undefined): boolean =>
  end?.ended === 'done' && ready.chosen.name === BOOT_ROM && type.boot.notesRomStart === true

function sentenceOf(
  { ready, unit }: PlannedWrite,
  end: WriteEnd | undefined,
  held: Held,
  ok: boolean,
): string {
  const name = unit.nickname
  if (end === undefined) return `${name}: the rehearsal was broken off.`
  if (!ok) return `${name}: in the rehearsal the write does not go through. ${end.text}`.trim()
  if (end.state === 'runs-new') return `${name}: in the rehearsal the receiver runs the new image at the end.`
  const shown = { 'read-back': 'is read back the same', digest: 'has the right digest', none: 'is accepted' }
  const lies = `${name}: in the rehearsal the image ${shown[end.proof.verified]}, but ${ready.chosen.title} cannot show that the receiver runs it.`
  return held.outcome === 'updated' || ready.chosen.name !== BOOT_ROM
    ? lies
    : `${lies} Its own boot loader has no record of this image and waits; an update over its bus makes it start.`
}
