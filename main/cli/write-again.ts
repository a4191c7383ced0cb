import type { DirectRecovery } from '../../shared/bench-run/direct-recovery.ts'
import type { LaneReport, WriteEnding } from '../../shared/bench-run/lane.ts'
import { bad } from './input.ts'
import type { WriteOptions } from './write.ts'

/** Putting a write right that broke off: what is taken from its session, and the command that does it. */

/** What a session in the logbook says itself; to name it again would be left out of account, or not be the same. */
const OF_THE_SESSION = ['dialect', 'declare', 'family', 'address', 'pageBytes'] as const

/** @throws BadInput for what the session that is put right says itself */
export function refuseOfSession(options: WriteOptions): void {
  const name =
    OF_THE_SESSION.find(one => options[one] !== undefined) ??
    (options.expect.length > 0 ? 'expect' : undefined)
  if (name === undefined) return
  const option = `--${name === 'pageBytes' ? 'page-bytes' : name}`
  bad({
    code: 'cli.mixed',
    field: option,
    message: `${option} is taken from the session that is put right.`,
    remedy: `Leave it out, or name an image too, with all that belongs to it.`,
  })
}

/** The way back in words, before it is gone. */
export function recoveryText(sessionId: string, { known, steps, rehearsed }: DirectRecovery): string {
  const seconds = (rehearsed.simulatedMs / 1000).toFixed(1)
  return [
    `Putting right ${sessionId}. ${known.is}`,
    ...steps.flatMap(({ text, expect, caution }, i) => [
      `${i + 1}. ${text} ${expect}`,
      ...(caution === undefined ? [] : [`   ${caution}`]),
    ]),
    rehearsed.ok
      ? `Rehearsed on a simulated device that speaks this dialect, in the state in which yours may be: it goes through in ${seconds} s.`
      : `In the rehearsal on a simulated device it does not go through. ${rehearsed.text}`,
    '',
  ].join('\n')
}

const isPlain = /^[A-Za-z0-9_@%+=:,./-]+$/
const quoted = (word: string): string => (isPlain.test(word) ? word : `'${word.replaceAll("'", "'\\''")}'`)

/**
 * The command that puts a write right, for a shell; undefined where there is nothing to put right.
 * @param given the words after "preflash" of the command that broke off
 */
export function againCommand(
  end: WriteEnding,
  lane: Pick<LaneReport, 'sessionId'> | undefined,
  options: WriteOptions,
  given: readonly string[],
): string | undefined {
  const went = end.outcome === 'updated' || end.outcome === 'unproven' || end.state === 'as-before'
  if (went || !lane?.sessionId) return undefined
  const recovers = ['--recovers', lane.sessionId]
  if (!options.direct) return ['preflash', ...without(given, '--recovers'), ...recovers].map(quoted).join(' ')
  const where = options.data === undefined ? [] : ['--data', options.data]
  const words = ['write', '--direct', ...recovers, '--confirm', 'wiring', '--port', options.port ?? '']
  return ['preflash', ...words, ...where].map(quoted).join(' ')
}

function without(words: readonly string[], option: string): string[] {
  return words.filter(
    (word, i) => word !== option && words[i - 1] !== option && !word.startsWith(`${option}=`),
  )
}
