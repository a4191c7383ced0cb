import type { Caution } from '../../shared/bench-run/cautions.ts'
import { oneOf } from '../../shared/model/problem.ts'
import { numberOption } from './choices.ts'
import { bad } from './input.ts'
import { named } from './near.ts'
import type { WriteOptions } from './write.ts'

/** Options of a write that do not go together, or name what is not there: refused, so that none is left out in silence. */

/** With them a bench is meant, whose wiring is checked; --direct must not be a way round that. */
const OF_A_BENCH = [
  'bench',
  'demo',
  'receiver',
  'adapter',
  'cable',
  'feed',
  'supply',
  'dropOutside',
  'check',
] as const
const OF_DIRECT = ['confirm', 'address', 'pageBytes'] as const

const asOption = (name: string): string => `--${name.replaceAll(/[A-Z]/g, l => `-${l.toLowerCase()}`)}`

/** @throws BadInput for an option that the other way of writing would leave out of account */
export function refuseMixed(options: WriteOptions): void {
  const { direct, caution } = options
  const names = direct ? OF_A_BENCH : OF_DIRECT
  const mixed =
    names.find(name => options[name] !== undefined) ?? (direct && caution[0] ? 'caution' : undefined)
  if (mixed === undefined) return
  const option = asOption(mixed)
  bad(
    direct
      ? {
          code: 'cli.mixed',
          field: option,
          message: `${option} belongs to a write on a bench, where wiring, supply and image are checked; --direct checks none of them.`,
          remedy: `Leave out --direct, or ${option}.`,
        }
      : {
          code: 'cli.mixed',
          field: option,
          message: `${option} belongs to --direct.`,
          remedy: 'Leave it out.',
        },
  )
}

/** As the plan of a write takes them. */
const RATES = { least: 50, most: 4_000_000 } as const

/** @throws BadInput for what is no rate of a serial line */
export function baudOption(text: string | undefined): number | undefined {
  const baud = text !== undefined && /^\d+$/.test(text) ? numberOption('--baud', text) : undefined
  if (text === undefined || (baud !== undefined && baud >= RATES.least && baud <= RATES.most)) return baud
  return bad({
    code: 'cli.baud',
    field: '--baud',
    message: `"${text}" is not a rate.`,
    expected: `a whole number from ${RATES.least} to ${RATES.most}, such as 115200`,
  })
}

/** @throws BadInput for an answer to what is not asked, or one that is none of the choices */
export function checkAnswers(answers: Readonly<Record<string, string>>, questions: readonly Caution[]): void {
  const all = { code: 'cli.caution', field: '--caution' }
  for (const [id, answer] of Object.entries(answers)) {
    named(id, { ...all, what: 'a question', names: questions.map(q => q.id) })
    const choices = questions.find(q => q.id === id)?.choices ?? []
    named(answer, { ...all, what: `an answer to "${id}"`, names: choices.map(c => c.id) })
  }
}

/** @throws BadInput for a name that the bench does not have */
export function onThisBench(
  field: '--adapter' | '--cable' | '--supply',
  id: string,
  list: readonly { readonly id: string }[],
): string {
  const what = { '--adapter': 'an adapter', '--cable': 'a cable', '--supply': 'a supply' }[field]
  const names = list.map(item => item.id)
  return named(id, { code: 'cli.not-on-bench', field, what: `${what} on this bench`, names })
}

/** @throws BadInput for a field that the receiver does not tell by this way of writing */
export function checkExpected(
  expect: Readonly<Record<string, string>>,
  title: string,
  fields: readonly string[],
): void {
  const unknown = Object.keys(expect).find(name => !fields.includes(name))
  if (unknown === undefined) return
  bad({
    code: 'write.expect',
    field: '--expect',
    message: `${title} does not tell "${unknown}" of a receiver.`,
    expected: oneOf(fields, 'nothing: it tells nothing of itself'),
  })
}
