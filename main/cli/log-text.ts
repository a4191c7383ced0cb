import type { Replay } from '../../shared/bench-run/replay.ts'
import { findCause } from '../../shared/diagnose/causes.ts'
import { symptomWords } from '../../shared/diagnose/words.ts'
import type { LogEvent } from '../../shared/logbook/event.ts'
import type { Finding, SessionHead } from '../../shared/logbook/session.ts'
import { imageWords } from '../../shared/model/image-words.ts'
import { UNKNOWN } from '../../shared/model/units.ts'
import { outcomeWords } from '../../shared/procedure/effects.ts'
import { phaseWords } from '../../shared/sim/trace.ts'
import type { LoggedSession } from '../store/journal.ts'

/** The logbook as text for a terminal. */

const kindWords: Readonly<Record<SessionHead['kind'], string>> = {
  write: 'written',
  guided: 'guided',
  diagnosis: 'diagnosis',
}
const endingWords: Readonly<Record<NonNullable<SessionHead['ending']>, string>> = {
  done: 'done',
  failed: 'failed',
  cancelled: 'stopped by hand',
  interrupted: 'interrupted',
}

/** To the second, in the time of this computer. */
function timeText(atMs: number): string {
  const at = new Date(atMs)
  const two = (n: number) => String(n).padStart(2, '0')
  const day = `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())}`
  return `${day} ${two(at.getHours())}:${two(at.getMinutes())}:${two(at.getSeconds())}`
}

const whose = ({ nickname, receiverId }: SessionHead): string =>
  nickname === null ? (receiverId ?? 'no receiver named') : `${nickname} (${receiverId ?? 'no id'})`

const endText = ({ ending, outcome }: SessionHead): string =>
  ending === null
    ? 'not ended'
    : outcome === null
      ? endingWords[ending]
      : `${endingWords[ending]}, ${outcome}`

/** One line a session, the latest first. */
export function listText(sessions: readonly SessionHead[], next: string | null): string {
  if (sessions.length === 0) return 'There is nothing in the logbook of that kind.\n'
  const lines = sessions.map(
    s => `${s.id}  ${timeText(s.startedAtMs)}  ${kindWords[s.kind].padEnd(9)}  ${whose(s)}: ${endText(s)}`,
  )
  const more = next === null ? [] : [`Older ones: preflash log --before ${next}`]
  return `${[...lines, ...more].map(printable).join('\n')}\n`
}

/** What comes from a file of somebody else must not steer the terminal. */
// biome-ignore lint/suspicious/noControlCharactersInRegex: those are what is taken out
const printable = (line: string): string => line.replaceAll(/[\u0000-\u001f\u007f-\u009f]+/g, ' ')

export function sessionText({ session: s, events, finding }: LoggedSession): string {
  const { port } = s
  const about: [string, string | null][] = [
    ['Session', `${s.id}, ${kindWords[s.kind]}`],
    ['Receiver', whose(s)],
    ['Bench', s.benchName],
    ['Port', port],
    ['Dialect', s.dialect],
    ['Image', s.image && imageWords({ name: s.image.name, version: s.image.version ?? UNKNOWN })],
    ['Puts right', s.recovers],
    ['Began', timeText(s.startedAtMs)],
    ['Ended', s.endedAtMs === null ? 'not ended' : `${timeText(s.endedAtMs)}, ${endText(s)}`],
    ['Outcome', s.outcome && outcomeWords[s.outcome]],
    ['From', s.importedAtMs === null ? null : `another logbook, taken over ${timeText(s.importedAtMs)}`],
  ]
  return [
    ...about.flatMap(([name, text]) => (text === null ? [] : [`${`${name}:`.padEnd(12)}${text}`])),
    ...(finding === null ? [] : findingText(finding)),
    ...(events.length > 0 ? ['Events:'] : []),
    ...events.map(
      ({ seq, atMs, event }) => `  ${String(seq).padStart(4)}  ${timeText(atMs)}  ${eventText(event)}`,
    ),
    '',
  ]
    .map(printable)
    .join('\n')
}

function findingText({ symptom, causes, isOneOf, tried, withdrawnAtMs }: Finding): string[] {
  const label = (id: string) => `  - ${findCause(id)?.label ?? id}`
  return [
    `Seen:       ${symptomWords[symptom].label}`,
    isOneOf ? 'It was one of these:' : 'It was:',
    ...causes.map(label),
    ...(tried.length > 0 ? ['Put right before, and it did not help:', ...tried.map(label)] : []),
    ...(withdrawnAtMs === null
      ? []
      : [`It came back after all, ${timeText(withdrawnAtMs)}: this find does not count.`]),
  ]
}

/** How a replay went, and where it parted from the record. */
export function replayText({ same, events, agreed, parts, answers, brokenOff, end }: Replay): string {
  const say = (event: LogEvent | null) => (event === null ? 'nothing more' : eventText(event))
  const lines = [
    'REPLAY, without hardware: the same procedure with the recorded answers.',
    '',
    ...events.map((event, i) => `  ${i < agreed ? '=' : '!'} ${eventText(event)}`),
    '',
    `${answers} answers; ${agreed} events as recorded.`,
    ...(parts === null ? [] : [`Recorded:  ${say(parts.recorded)}`, `Replayed:  ${say(parts.replayed)}`]),
    ...(brokenOff && parts === null ? ['The record breaks off here.'] : []),
    ...(end === null ? [] : [end.ended === 'done' ? 'It went through.' : `It failed. ${end.text}`]),
    same ? 'The same as recorded.' : 'NOT the same as recorded.',
  ]
  return `${lines.join('\n')}\n`
}

function eventText(event: LogEvent): string {
  switch (event.kind) {
    case 'phase':
      return `${phaseWords[event.phase]}, attempt ${event.attempt}`
    case 'progress':
      return `${event.done} of ${event.total} octets`
    case 'answer':
      return `${event.text ?? event.to}: ${event.said}`
    case 'effect':
      return `about to ${event.effect}: ${event.text}`
    case 'state':
      return `the receiver ${event.state}: ${event.text}`
    case 'answers':
      return `recorded for a replay: ${event.answers.length} answers`
    default:
      return `${event.kind}: ${event.text}`
  }
}
