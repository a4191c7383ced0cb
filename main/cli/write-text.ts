import type { CautionQuestion, Precondition } from '../../shared/bench-run/check.ts'
import { type Effort, repeatsOfRequests } from '../../shared/bench-run/effort.ts'
import type { LaneReport, WriteEnding, WriteStep } from '../../shared/bench-run/lane.ts'
import { phaseWords } from '../../shared/sim/trace.ts'

/** What a write says on a terminal. */

const stepWords: Readonly<Record<WriteStep, string>> = {
  ...phaseWords,
  open: 'Open the port',
  pause: 'Wait before the next attempt',
}

const COLUMNS = 78

/** One line: step, how far, how fast, how long still. */
export function progressLine(lane: LaneReport): string {
  const { step, done, total, octetsPerSecond, secondsLeft, attempt } = lane
  const share = total > 0 ? `${String(Math.floor((100 * done) / total)).padStart(3)} %` : '     '
  const rate = octetsPerSecond === null ? '' : `, ${(octetsPerSecond / 1000).toFixed(1)} kB/s`
  const left = secondsLeft === null ? '' : `, ${secondsLeft} s left`
  const again = attempt > 1 ? ` (attempt ${attempt})` : ''
  return `${share}  ${stepWords[step]}${again}${rate}${left}`.slice(0, COLUMNS)
}

const marks: Readonly<Record<Precondition['holds'], string>> = { yes: 'ok', no: 'NO', unknown: '?' }

export function preconditionsText(preconditions: readonly Precondition[]): string {
  return preconditions
    .flatMap(p => [
      `${marks[p.holds].padEnd(4)}${p.claim}`,
      ...(p.holds === 'yes' ? [] : p.why.map(why => `      ${why}`)),
      ...(p.holds !== 'yes' && p.cure ? [`      To do: ${p.cure}`] : []),
    ])
    .map(line => `${line}\n`)
    .join('')
}

export const questionText = ({ id, question, look, choices }: CautionQuestion): string =>
  [
    `--caution ${id}=…  ${question}`,
    `    ${look}`,
    ...choices.map(c => `      ${c.id.padEnd(18)} ${c.label}`),
  ]
    .map(line => `${line}\n`)
    .join('')

/** Said before a write to a device of which nothing is known: nobody is asked what hangs on it. */
export const DIRECT_CAUTIONS = `Before it is written: take the propeller or rotor off, or unplug the motor: outputs may move when it restarts.
Keep hands, people and tools away from whatever it moves. One supply only, of the right voltage, the right way round.
`

const heads: Readonly<Record<WriteEnding['outcome'], string>> = {
  updated: 'UPDATED, and proven: it was verified, and the receiver says itself that it runs the new image.',
  unproven: 'SENT AND ACCEPTED, but not proven: the receiver did not show that it runs the new image.',
  failed: 'FAILED.',
  cancelled: 'CANCELLED.',
  'port-lost': 'BROKEN OFF.',
}
const verifiedWords = {
  'read-back': 'Verified: read back, and the same.',
  digest: 'Verified: the receiver holds what has the right digest.',
  none: 'Not verified: by this way of writing, what the receiver holds can be neither read back nor compared.',
} as const

export interface AfterEnd {
  readonly sessionId: string | null
  /** Of the bench, where it is on one. */
  readonly receiverId?: string | undefined
  /** The command that puts it right. */
  readonly again?: string | undefined
}

export function endingText(end: WriteEnding, { sessionId, receiverId, again }: AfterEnd): string {
  const wentWell = end.outcome === 'updated' || end.outcome === 'unproven'
  const lines = [
    heads[end.outcome],
    ...(end.text === '' ? [] : [end.text]),
    // The head says already what it holds where it went well.
    wentWell ? verifiedWords[end.proof.verified] : `Now: ${end.stateWords}`,
    `Next: ${end.nextWords}`,
    ...(again === undefined ? [] : [`To put it right: ${again}`]),
    ...end.identity.map(({ label, value }) => `  ${label}: ${value}`),
    effortText(end),
    ...(end.backupFile === null ? [] : [`What was there before is kept in ${end.backupFile}`]),
    ...(end.diagnosis === null || receiverId === undefined
      ? []
      : [`To find out why: ${diagnoseCommand(end.diagnosis, receiverId)}`]),
    ...(end.afterwards.length > 0 ? ['Before it flies:', ...end.afterwards.map(text => `  - ${text}`)] : []),
    ...(sessionId === null ? [] : [`In the logbook: preflash log ${sessionId}`]),
  ]
  return `${lines.join('\n')}\n`
}

/** More than a sound line asks for. Common practice, no source. */
const MANY_REPEATS = 10

/** How long it took, and what had to be done more than once. */
export function effortText({ seconds, ...effort }: Effort & Pick<WriteEnding, 'seconds'>): string {
  const { attempts } = effort
  const tries = attempts > 1 ? `, in ${attempts} attempts` : ''
  const again = repeatsOfRequests(effort)
  const times = again === 1 ? 'once' : `${again} times`
  const repeats = again > 0 ? ` Something had to be repeated ${times}.` : ''
  const look =
    again >= MANY_REPEATS ? ' That is often: look at plugs and cable before you write with them again.' : ''
  return `It took ${seconds.toFixed(1)} s${tries}.${repeats}${look}`
}

const diagnoseCommand = ({ symptom, answers }: NonNullable<WriteEnding['diagnosis']>, receiverId: string) =>
  [
    `preflash diagnose --receiver ${receiverId} --symptom ${symptom}`,
    ...Object.entries(answers).map(([fact, said]) => `--fact ${fact}=${said}`),
  ].join(' ')
