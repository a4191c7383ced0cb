import { findFact } from '../diagnose/facts.ts'
import { symptomWords } from '../diagnose/words.ts'
import { isConversion } from '../fit/afterwards.ts'
import { situationOf } from '../fit/situation.ts'
import { failed, type Problem, type Result, succeeded } from '../model/problem.ts'
import type { Route } from '../model/units.ts'
import { outcomeWords } from '../procedure/effects.ts'
import { readyImage } from '../rehearse/image.ts'
import type { RehearsalReport, RehearsalRequest } from '../rehearse/report.ts'
import type { Phase } from '../sim/trace.ts'
import { timesOf } from './durations.ts'
import { type Plan, planKey } from './plan-key.ts'
import type { Other, Runbook, Step } from './schema.ts'
import { stepsAfter } from './steps-after.ts'
import { stepsBefore } from './steps-before.ts'
import { stepsUpdate } from './steps-update.ts'
import { subjectOf } from './subject.ts'

/** A rehearsal, as far as a runbook is made of it. */
export interface Rehearsed {
  readonly request: RehearsalRequest
  readonly report: RehearsalReport
  readonly phases: readonly Phase[]
}

export interface RunbookOptions {
  /** The plan that is to be carried out now; a rehearsal of another one is refused. */
  readonly plan?: Plan
  /** The key of the plan as it was asked for, where its image has been read from the library since. */
  readonly key?: string
  readonly recovery?: Runbook['recovery']
}

/**
 * The runbook that a successful rehearsal of this very plan comes to.
 * @returns problems `runbook.with-faults`, `runbook.not-updated`, `runbook.other-plan`, and those of an image or a
 * receiver that cannot be rehearsed at all
 */
export function makeRunbook(rehearsed: Rehearsed, options: RunbookOptions = {}): Result<Runbook> {
  const { request, report, phases } = rehearsed
  const key = options.key ?? planKey(request)
  const problem = whyNot(rehearsed, key, options.plan)
  if (problem) return failed(problem)
  const { bench, receiverId, route } = request
  const before = situationOf(bench, receiverId, route, undefined)
  if (before === undefined)
    return failed({
      code: 'bench.no-receiver',
      field: 'receiver',
      message: `There is no receiver called "${receiverId}" on this bench, or its type is not known.`,
    })
  const image = readyImage(bench, before.receiverType, request.image, request.dropOutside)
  if (!image.ok) return image
  const s = { ...before, image: image.value.facts }
  const { receiver, receiverType, radio, module } = s
  const of = subjectOf(s, image.value, timesOf(phases, report.simulatedMs))
  const steps = [...stepsBefore(of), ...stepsUpdate(of), ...stepsAfter(of)].map(one => forRoute(one, route))
  return succeeded({
    format: 'preflash-runbook',
    formatVersion: 1,
    key,
    route,
    receiver: {
      id: receiver.id,
      nickname: receiver.nickname,
      typeId: receiverType.id,
      type: `${receiverType.maker} ${receiverType.name}`,
      firmwareBefore: receiver.firmware,
      generationBefore: receiver.generation,
    },
    radio: radio?.nickname ?? 'the radio',
    image: {
      name: image.value.name,
      version: image.value.card.version,
      generation: image.value.card.generation,
      sha256: report.image.sha256,
      sizeBytes: image.value.payload.length,
      benchId: request.image.kind === 'bench' ? request.image.imageId : null,
      files: [...of.files],
    },
    rehearsed: { simulatedMs: report.simulatedMs, attempts: report.attempts, seed: report.seed },
    converts: isConversion(s),
    moduleId: module?.id ?? null,
    steps,
    recovery: options.recovery ?? { written: null, bootLoader: null },
  })
}

function whyNot({ request, report }: Rehearsed, key: string, plan: Plan | undefined): Problem | undefined {
  if (request.faults.length > 0)
    return {
      code: 'runbook.with-faults',
      field: 'faults',
      message: 'Faults were switched on in this rehearsal, so it does not show how the plan itself goes.',
      remedy: 'Rehearse it once without faults.',
    }
  if (report.outcome !== 'updated')
    return {
      code: 'runbook.not-updated',
      message: `When this was rehearsed, the receiver was not updated: ${outcomeWords[report.outcome]} ${report.why}`,
      expected: 'a rehearsal that ends with the new image running',
      remedy: 'Put right what the rehearsal found, and rehearse again.',
    }
  if (plan !== undefined && planKey(plan) !== key)
    return {
      code: 'runbook.other-plan',
      message:
        'Since this was rehearsed, the receiver, what belongs to it, the image or the route has changed.',
      expected: 'a rehearsal of what is on the bench now',
      remedy: 'Rehearse it again.',
    }
  return undefined
}

/** Facts and symptoms that belong to the other route mean nothing here. */
function forRoute(step: Step, route: Route): Step {
  const facts = (all: Step['facts']): Step['facts'] =>
    Object.fromEntries(Object.entries(all).filter(([id]) => findFact(id)?.routes.includes(route)))
  const other = ({ symptom, ...rest }: Other): Other => ({
    ...rest,
    facts: facts(rest.facts),
    ...(symptom !== undefined && symptomWords[symptom].routes.includes(route) ? { symptom } : {}),
  })
  return { ...step, facts: facts(step.facts), others: step.others.map(other) }
}
