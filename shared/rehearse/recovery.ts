import type { Finding } from '../fit/rule.ts'
import { findings } from '../fit/rules.ts'
import { type ImageFacts, situationOf } from '../fit/situation.ts'
import type { Bench } from '../model/bench.ts'
import type { ReceiverType } from '../model/catalogue.ts'
import { isKnown, type Route } from '../model/units.ts'
import { versionText } from '../procedure/bus.ts'
import type { Outcome } from '../procedure/effects.ts'
import { updateReceiver } from '../procedure/update.ts'
import { findFault } from '../sim/faults.ts'
import { type ReceiverMemory, startable } from '../sim/memory.ts'
import { type Moment, runSession } from '../sim/session.ts'
import { type CutPoint, calmWorld } from '../sim/world.ts'
import { rewriteThroughBootRom } from './boot-rom.ts'
import { benchImage, type ReadyImage, standInImage } from './image.ts'
import type { FaultChoice, Recovery, RunbookStep } from './report.ts'
import { judge, planFor, recordCount, stagingOf } from './table.ts'

/**
 * How the receiver is brought back, or the update carried through after all: put right what went wrong, apply the
 * remedies of the rules that still do not hold, and do the update again. The simulator carries it out on what the
 * session has left, so a runbook that does not work is found here and not on the bench.
 */
export interface Aftermath {
  /** The bench without the faults. */
  readonly bench: Bench
  readonly receiverId: string
  readonly type: ReceiverType
  readonly route: Route
  readonly image: ReadyImage
  readonly faults: readonly FaultChoice[]
  readonly outcome: Outcome
  readonly memory: ReceiverMemory
  readonly seed: number
  /** Cut the power once more, in the recovery: the sweep of pairs. The recovery from that is what is given. */
  readonly cutAgain?: CutPoint
  /** Is told how far the recovery's own session is; what it throws breaks it off. */
  readonly watch?: (moment: Moment) => void
}

const MOST_REMEDIES = 16

interface Course {
  bench: Bench
  route: Route
  image: ReadyImage
  standIn: boolean
  readonly steps: RunbookStep[]
}

/** @returns null for a receiver that is updated, or that nothing can bring back */
export function recoveryFor(after: Aftermath): Recovery | null {
  if (after.outcome === 'updated' || after.outcome === 'destroyed') return null
  const course: Course = {
    bench: benchOfNow(after),
    route: after.outcome === 'unchanged' ? after.route : 'cable',
    image: after.image,
    standIn: false,
    steps: after.faults.flatMap(cureStep),
  }
  let bootRomMs = 0
  if (after.outcome === 'needs-boot-rom') {
    const { result, simulatedMs } = rewriteThroughBootRom(after.memory, after.type, after.seed)
    course.steps.push(...bootRomSteps(after.type))
    if (result.ended === 'failed')
      return stopsHere(course, after, `when this was rehearsed, it failed. ${result.text}`, simulatedMs)
    bootRomMs = simulatedMs
  }
  applyRemedies(course, after)
  const danger = findingsOf(course, after, course.image.facts).find(stopsByPhysics)
  if (danger) return stopsHere(course, after, `nothing here puts this right. ${danger.sentence}`, bootRomMs)
  course.steps.push(...updateSteps(course, after))
  const { outcome, simulatedMs } = carryOut(course, after)
  if (after.cutAgain !== undefined && outcome !== 'updated')
    return recoveryFor({ ...after, outcome, faults: [], seed: after.seed + 1, cutAgain: undefined })
  return {
    steps: course.steps,
    rehearsed: {
      ...{ outcome, simulatedMs: simulatedMs + Math.round(bootRomMs), standIn: course.standIn },
      route: course.route,
    },
  }
}

/** What no remedy has put right and what could harm the receiver: nobody is told to go on from there. */
const stopsByPhysics = (f: Finding): boolean =>
  f.holds === 'no' && f.rule.severity === 'block' && f.rule.enforcedBy === 'physics'

/** It was not brought back in the simulation, so what would come after that is not promised. */
function stopsHere(course: Course, after: Aftermath, why: string, simulatedMs: number): Recovery {
  const text = `Stop here: ${why} Give the receiver to a workshop.`
  const outcome = judge(after.memory, recordCount(after.memory))
  const steps = [...course.steps, { text, minutes: 1 }]
  return { steps, rehearsed: { outcome, simulatedMs: Math.round(simulatedMs), standIn: false } }
}

const cureStep = (choice: FaultChoice): RunbookStep[] => {
  const fault = findFault(choice.name)
  return fault ? [{ text: fault.cure, minutes: 2 }] : []
}

/** The bench as it is now: a receiver that holds something else than before says so. */
function benchOfNow(after: Aftermath): Bench {
  const record = startable(after.memory)
  if (record === undefined) return after.bench
  const change = {
    firmware: versionText(record.version),
    generation: record.generation || ('unknown' as const),
  }
  return {
    ...after.bench,
    receivers: after.bench.receivers.map(r =>
      r.id === after.receiverId && isKnown(r.firmware) ? { ...r, ...change } : r,
    ),
  }
}

/** What nobody refuses but physics stands in the way of has to be put right too; a remedy that failed is not repeated. */
const blocking = (found: readonly Finding[], done: ReadonlySet<string>) =>
  found.find(
    f =>
      f.holds === 'no' &&
      (f.rule.severity === 'block' || f.rule.enforcedBy === 'physics') &&
      f.remedies.length > 0 &&
      !done.has(remedyKey(f)),
  )
const remedyKey = (f: Finding) => `${f.rule.id}: ${f.remedies[0].label}`

function findingsOf(course: Course, after: Aftermath, image: ImageFacts): Finding[] {
  const s = situationOf(course.bench, after.receiverId, course.route, image)
  return s ? findings(s) : []
}

function applyRemedies(course: Course, after: Aftermath): void {
  const done = new Set<string>()
  while (done.size < MOST_REMEDIES) {
    const broken = blocking(findingsOf(course, after, course.image.facts), done)
    if (broken === undefined) return
    done.add(remedyKey(broken))
    const [remedy] = broken.remedies
    course.bench = remedy.apply(course.bench)
    if (remedy.route) course.route = remedy.route
    if (remedy.otherImage) takeAnotherImage(course, after)
    course.steps.push({ text: remedy.label, expect: broken.rule.claim, minutes: remedy.minutes })
  }
}

/** The newest image on the bench that breaks no rule; where there is none, one is built to stand in for it. */
function takeAnotherImage(course: Course, after: Aftermath): void {
  const candidates = course.bench.images
    .filter(i => i.typeId === after.type.id)
    .sort((a, b) => b.sequenceNumber - a.sequenceNumber)
  for (const candidate of candidates) {
    const image = benchImage(course.bench, after.type, candidate.id)
    if (!image.ok || image.value.name === course.image.name) continue
    const broken = findingsOf(course, after, image.value.facts).some(
      f => f.holds === 'no' && f.rule.severity === 'block',
    )
    if (broken) continue
    course.image = image.value
    return
  }
  const unit = course.bench.receivers.find(r => r.id === after.receiverId)
  const generation =
    unit && isKnown(unit.generation)
      ? unit.generation
      : isKnown(after.type.nativeGeneration)
        ? after.type.nativeGeneration
        : 1
  const standIn = standInImage(after.type, generation)
  if (!standIn.ok) return
  course.image = standIn.value
  course.standIn = true
}

function updateSteps(course: Course, after: Aftermath): RunbookStep[] {
  const { maker, name } = after.type
  const image = course.standIn ? `an image that its maker offers for the ${maker} ${name}` : course.image.name
  const steps: RunbookStep[] = [
    {
      text: `Put ${image} on the card and let the app read it back.`,
      expect: 'The Firmware view says that the card is proven.',
      minutes: 2,
    },
  ]
  if (course.route === 'cable')
    steps.push({
      text: "Unplug the receiver's own supply and connect the update cable between the port of the radio and the receiver, keyed side to keyed side.",
      expect:
        after.outcome === 'needs-cable'
          ? 'The receiver shows that it waits in its boot loader.'
          : 'The receiver comes on.',
      caution:
        'Propeller off, drive disconnected. A reversed plug destroys the receiver: look twice before the radio is switched on.',
      minutes: 5,
    })
  else
    steps.push({
      text: 'Put the model about two metres from the radio, and give the receiver its own supply.',
      expect: 'The receiver comes on.',
      caution: 'Propeller off, drive disconnected: outputs may move when the receiver restarts.',
      minutes: 3,
    })
  steps.push({
    text: `Start the update ${course.route === 'cable' ? 'by cable' : 'by air'} again. If it fails the first time, wait a moment and start it a second time.`,
    expect: 'The receiver restarts and names the new firmware.',
    minutes: 3,
  })
  return steps
}

function bootRomSteps(type: ReceiverType): RunbookStep[] {
  return [
    {
      text: `Open the ${type.name}, connect a USB serial adapter (3.3 V logic) to the controller's own serial pins, and hold its boot pin while power comes on.`,
      expect: "The chip's own loader answers to its first octet, 7F.",
      caution:
        'Feed the receiver from one supply only. If you have not done this before, leave it to a workshop.',
      minutes: 30,
    },
    {
      text: 'Write the boot loader back and let it be read back.',
      expect: 'What is read back is what was written.',
      minutes: 5,
    },
    {
      text: 'Release the boot pin and switch the receiver off and on.',
      expect: 'It waits in its boot loader.',
      minutes: 1,
    },
  ]
}

function carryOut(course: Course, after: Aftermath): { outcome: Outcome; simulatedMs: number } {
  const { card } = situationOf(course.bench, after.receiverId, course.route, course.image.facts) ?? {}
  const staging = stagingOf(course.image, card?.folder ?? 'IMAGES')
  const before = recordCount(after.memory)
  const world = { ...calmWorld, cut: after.cutAgain }
  const end = runSession(
    {
      setup: { bench: course.bench, receiverId: after.receiverId, route: course.route, world },
      seed: after.seed + 1,
      memory: after.memory,
      image: course.image.facts,
      onStaged: () => {},
      ...(after.watch ? { watch: after.watch } : {}),
    },
    updateReceiver(planFor(course.bench, after.type, course.route, staging)),
  )
  return { outcome: judge(after.memory, before), simulatedMs: Math.round(end.endNs / 1e6) }
}
