import type { PortInfo } from '../../../shared/api/ports.ts'
import type { Difference, LaneReport, WriteEnding, WriteStep } from '../../../shared/bench-run/lane.ts'
import { writeStepWords } from '../../../shared/bench-run/steps.ts'
import type { StatusRole } from '../../ui/StatusMark.tsx'
import { type Draft, portsOf } from './draft.ts'

/** What ports, writes and their ends say in words, with the shape that goes with each. */

interface Said {
  readonly word: string
  readonly status: StatusRole
}

export const portStateSaid: Readonly<Record<PortInfo['state'], Said>> = {
  free: { word: 'free', status: 'good' },
  'in-use': { word: 'in use', status: 'caution' },
  'no-permission': { word: 'no permission', status: 'danger' },
  absent: { word: 'not there', status: 'unknown' },
  'not-known': { word: 'not known', status: 'unknown' },
}

/** The state in a word or two; a place where no port can ever be is not told like one that is only unplugged. */
export function sayPortState({
  state,
  stateText,
  remedy,
}: Pick<PortInfo, 'state' | 'stateText' | 'remedy'>): Said {
  if (state === 'absent') return { ...portStateSaid.absent, word: stateText }
  // Something is known of it after all, and something can be done: a server that has gone away.
  if (state === 'not-known' && remedy !== undefined) return { word: stateText, status: 'caution' }
  return portStateSaid[state]
}

/** Whether it may be tried; a serial server is found out about when it is opened. */
export const isUsable = ({ state }: Pick<PortInfo, 'state'>): boolean =>
  state === 'free' || state === 'not-known'

/** Places of the ports that are written through right now. */
export const livePorts = (lanes: readonly Pick<LaneReport, 'end' | 'port'>[]): readonly string[] =>
  lanes.filter(lane => lane.end === null).map(lane => lane.port.key)

/**
 * What is the case with the ports that were chosen, where they cannot be used: the first that cannot says why.
 * @param ports undefined until they were looked for
 * @param live places that are written through right now
 * @returns undefined where all can be used, none is chosen, or nobody has looked yet
 */
export function portSays(
  draft: Pick<Draft, 'mode' | 'port' | 'ports'>,
  ports: readonly PortInfo[] | undefined,
  live: readonly string[],
): Said | undefined {
  const places = portsOf(draft)
  if (places.some(place => live.includes(place))) return { word: 'writing now', status: 'caution' }
  const found = places.map(place => ports?.find(port => port.place === place))
  const at = found.findIndex(port => port === undefined || !isUsable(port))
  if (ports === undefined || at < 0) return undefined
  const wrong = found[at]
  const said = wrong === undefined ? portStateSaid.absent : sayPortState(wrong)
  return places.length === 1
    ? said
    : { ...said, word: `${wrong ? portName(wrong) : places[at]}: ${said.word}` }
}

/** What came of the last write to a receiver that is still on the screen; the next one begins with another look. */
export function lastWords(
  lanes: readonly Pick<LaneReport, 'end' | 'receiver'>[],
  receiverId: string,
): string {
  const last = lanes.findLast(lane => lane.receiver?.id === receiverId)
  if (last === undefined) return ''
  if (last.end === null) return 'It is being written.'
  return `Last write: ${outcomeSaid[last.end.outcome].word.toLowerCase()}. Another one takes another look.`
}

/** Where the port stands in sentences. */
export const portName = ({ name, place }: Pick<PortInfo, 'name' | 'place'>): string => name ?? place

/** What the time for which the adapter holds an answer back does to a write. */
export function latencyWords(latencyMs: number): string {
  const ms = `${Number(latencyMs.toFixed(1))} ms`
  if (latencyMs === 0) return 'hands answers over at once'
  if (latencyMs <= 2) return `hands answers over within ${ms}, which hardly slows a write`
  if (latencyMs <= 5) return `hands answers over within ${ms}, which slows a write a little`
  return `holds answers back for up to ${ms}: a write with many short answers takes longer, and every time limit allows for it`
}

export const stepWords: Readonly<Record<WriteStep, string>> = writeStepWords

/** For narrow places. */
export const shortStepWords: Readonly<Record<WriteStep, string>> = {
  stage: 'Stage',
  check: 'Check',
  quiet: 'Quiet',
  search: 'Search',
  enter: 'Enter',
  identify: 'Identify',
  backup: 'Back up',
  begin: 'Announce',
  erase: 'Erase',
  write: 'Write',
  verify: 'Verify',
  commit: 'Make valid',
  restart: 'Restart',
  open: 'Open',
  pause: 'Pause',
}

export const outcomeSaid: Readonly<Record<WriteEnding['outcome'], Said>> = {
  updated: { word: 'Updated', status: 'good' },
  unproven: { word: 'Sent and accepted, not proven', status: 'caution' },
  failed: { word: 'Failed', status: 'danger' },
  cancelled: { word: 'Cancelled', status: 'caution' },
  'port-lost': { word: 'The port was lost', status: 'danger' },
}

const AT_A_GLANCE = 2

/** What a receiver says of itself, as the tally of a batch has it: the first things in a line, and what else it says. */
export function identityParts(identity: string): { first: string; more: readonly string[] } {
  const parts = identity.split(', ')
  return { first: parts.slice(0, AT_A_GLANCE).join(', '), more: parts.slice(AT_A_GLANCE) }
}

export const differenceWords: Readonly<Record<Difference['kind'], string>> = {
  slower: 'Slower',
  faster: 'Faster',
  'other-rate': 'Another rate',
  'later-answers': 'Later answers',
  'other-amount': 'Another amount',
  'other-blocks': 'Other blocks',
  'said-otherwise': 'It says otherwise',
  'more-retries': 'More repeats',
  'asked-to-wait': 'It asked to wait',
  'failed-attempt': 'An attempt failed',
  'another-order': 'Another order',
  'other-end': 'Another end',
}

/** What a difference asks of the person, with the shape that goes with it. */
export const severitySaid: Readonly<Record<Difference['severity'], Said>> = {
  expected: { word: 'Expected', status: 'good' },
  note: { word: 'Note', status: 'caution' },
  look: { word: 'Look at this', status: 'danger' },
}

/** What was rehearsed and what was seen, as sentences: what was seen may be several. */
export const sayRehearsedAndSeen = ({ expected, seen }: Pick<Difference, 'expected' | 'seen'>): string =>
  `Rehearsed: ${expected}. Seen: ${seen.replace(/\.$/, '')}.`

/** A difference from the rehearsal in a line, with what it asks of the person. */
export const sayDifference = ({ kind, severity, step, ...words }: Difference): string =>
  `${severitySaid[severity].word}: ${differenceWords[kind]}, ${stepWords[step]}. ${sayRehearsedAndSeen(words)}`

export const verifiedWords: Readonly<Record<WriteEnding['proof']['verified'], string>> = {
  'read-back': 'Every octet was read back and compared.',
  digest: 'The receiver worked out a check over what it holds, and it was the right one.',
  none: 'What the receiver holds was not compared.',
}

/** Seconds and minutes of a wait that is counted down. */
export function sayLeft(seconds: number): string {
  const whole = Math.max(0, Math.round(seconds))
  if (whole < 1) return 'nearly done'
  if (whole < 90) return `about ${whole} s left`
  return `about ${Math.round(whole / 60)} min left`
}

export function saySeconds(ms: number): string {
  const seconds = ms / 1000
  if (seconds < 10) return `${seconds.toFixed(1)} s`
  if (seconds < 90) return `${Math.round(seconds)} s`
  const whole = Math.round(seconds)
  return `${Math.floor(whole / 60)} min ${whole % 60} s`
}

export const sayBytes = (bytes: number): string =>
  bytes < 1024 ? `${bytes} B` : `${(bytes / 1024).toFixed(bytes < 10_240 ? 1 : 0)} KB`

export const sayRate = (octetsPerSecond: number): string =>
  `${octetsPerSecond >= 1000 ? Math.round(octetsPerSecond).toLocaleString('en') : Math.round(octetsPerSecond)} octets a second`

/** Share of the step that is done, from 0 to 1; undefined where it does not count. */
export const shareOf = ({ done, total }: Pick<LaneReport, 'done' | 'total'>): number | undefined =>
  total > 0 ? Math.min(1, Math.max(0, done / total)) : undefined

/**
 * How much longer a receiver is waited for that speaks first, counted down; undefined where nothing like that is waited
 * for. As soon as it has spoken, something is done.
 */
export function waitWords({ notes, steps, done, elapsedMs }: LaneReport): string | undefined {
  const { atMs, mostMs } = notes.at(-1) ?? {}
  if (atMs === undefined || mostMs === undefined || done > 0) return undefined
  // What began after it was said shows that it has spoken.
  if ((steps.at(-1)?.startMs ?? 0) > atMs) return undefined
  const left = Math.max(0, Math.ceil((atMs + mostMs - elapsedMs) / 1000))
  return `Waiting for the receiver to speak first: at most ${left} s more.`
}

/** Where a running write stands, in one line. */
export function progressWords(lane: LaneReport): string {
  const share = shareOf(lane)
  const counted = lane.step === 'write' || lane.step === 'verify' || lane.step === 'backup'
  const parts = [
    share === undefined ? undefined : `${Math.floor(share * 100)} %`,
    counted && lane.total > 0 ? `${sayBytes(lane.done)} of ${sayBytes(lane.total)}` : undefined,
    lane.octetsPerSecond === null ? undefined : sayRate(lane.octetsPerSecond),
    lane.secondsLeft === null ? undefined : sayLeft(lane.secondsLeft),
  ]
  return parts.filter(part => part !== undefined).join(' · ')
}
