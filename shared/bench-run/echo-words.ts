import type { WriteEnding } from './lane.ts'

/** What the echo of a line tells of its wiring where a write does not go through. */

/** What became of what was sent: it came back; only something else did; nothing at all did; too little was sent. */
export type EchoSeen = 'came-back' | 'answers-only' | 'silence' | 'not-known'

export interface EchoFound {
  /** The wiring of the plan, or the person, says that what is sent comes back. */
  readonly expected: boolean
  readonly seen: EchoSeen
}

/** Ends that a line of the wrong kind makes as well as a receiver that is not there. */
const ABOUT_THE_LINE: readonly (string | null)[] = ['no-answer', 'lost-contact', 'not-found', 'refused']

/**
 * @param end how the write ended
 * @returns a sentence for the person, or an empty text where the echo has nothing to say about this end
 */
export function echoWords(
  { expected, seen }: EchoFound,
  { outcome, code }: Pick<WriteEnding, 'outcome' | 'code'>,
): string {
  if (outcome !== 'failed' || !ABOUT_THE_LINE.includes(code)) return ''
  if (!expected)
    return seen === 'came-back'
      ? 'The line echoes what we say: a cable with one wire for both directions, where two were expected. Look at the cable, or say that the line echoes (--echo yes).'
      : ''
  switch (seen) {
    case 'answers-only':
      return 'Something came, but not what we say, as it must on one wire: the line does not echo what we say, or something else talks over it. Look at the cable, and unplug sensors; where the cable has a wire for each direction, say that the line does not echo (--echo no).'
    case 'silence':
      return 'Not even what we say came back, as it must on one wire: the wire is open, it is another port, or the adapter does not echo.'
    case 'came-back':
      return code === 'no-answer'
        ? 'What we say came back, so the port and its end of the wire are sound: look at the power, the plug and the boot loader of the receiver.'
        : ''
    case 'not-known':
      return ''
  }
}
