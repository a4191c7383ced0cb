import type { Answer } from './answer.ts'
import type { ExpectStep, SendStep, Step } from './schema-steps.ts'
import type { Speaker } from './speak.ts'

/** One message and one plain answer: the shape that a step must have to be said over and over in a series. */
export interface Exchange {
  readonly send: SendStep
  readonly expect: ExpectStep
  readonly answer: Answer
  readonly timeoutMs: number
}

/**
 * The steps of a block as one exchange, as things are now.
 * @returns undefined where they are more than that, keep something of the answer, or nobody has been heard yet
 */
export function exchangeOf(steps: readonly Step[], speaker: Speaker): Exchange | undefined {
  const [request] = steps
  if (steps.length !== 1 || request.do !== 'request' || speaker.silence === 'no-answer') return undefined
  const leaves: Step[] = []
  addLeaves(request.steps, speaker, leaves)
  if (leaves.length !== 2) return undefined
  const [send, expect] = leaves
  if (send.do !== 'send' || expect.do !== 'expect') return undefined
  if (expect.parts.length > 0 || expect.capture !== undefined || expect.unaskedEvery !== undefined)
    return undefined
  return { send, expect, answer: speaker.answerFor(expect), timeoutMs: speaker.timeoutMs(expect) }
}

/** Asked of every block, so it makes no lists on the way. */
function addLeaves(steps: readonly Step[], speaker: Speaker, leaves: Step[]): void {
  for (const step of steps)
    if (step.do === 'when') addLeaves(speaker.holds(step) ? step.steps : step.otherwise, speaker, leaves)
    else leaves.push(step)
}
