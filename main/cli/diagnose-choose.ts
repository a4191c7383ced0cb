import { SYMPTOMS, type SymptomId } from '../../shared/diagnose/report.ts'
import { symptomWords } from '../../shared/diagnose/words.ts'
import { nearNames } from '../../shared/model/near.ts'
import type { Route } from '../../shared/model/units.ts'
import { bad } from './input.ts'
import type { Terminal } from './terminal.ts'

/**
 * Asks what is seen, by number or by name.
 * @throws BadInput where the input ends first
 */
export function chooseSymptom(terminal: Terminal): Promise<SymptomId | 'quit'> {
  return choose(
    terminal,
    'What do you see?',
    SYMPTOMS.map(name => ({ name, label: symptomWords[name].label })),
    '--symptom',
  )
}

const routeWords: Readonly<Record<Route, string>> = { cable: 'By cable', wireless: 'By air' }

/** Asks which way the update went, where the symptom leaves that open. @throws BadInput where the input ends first */
export async function chooseRoute(terminal: Terminal, symptom: SymptomId): Promise<Route | 'quit'> {
  const { routes } = symptomWords[symptom]
  if (routes.length === 1) return routes[0]
  const options = routes.map(name => ({ name, label: routeWords[name] }))
  return await choose(terminal, 'Which way did the update go?', options, '--route')
}

async function choose<T extends string>(
  terminal: Terminal,
  question: string,
  options: readonly { readonly name: T; readonly label: string }[],
  field: string,
): Promise<T | 'quit'> {
  const names = options.map(o => o.name)
  terminal.say('', question, ...options.map(({ label }, i) => `${String(i + 1).padStart(4)}. ${label}`))
  for (;;) {
    const line = await terminal.hear(`1 to ${options.length}, q quit`)
    if (line === undefined)
      return bad({
        code: 'cli.ended',
        field,
        message: 'The input ended before this was said.',
        expected: `one of ${names.join(', ')}`,
      })
    if (line === 'q' || line === 'quit') return 'quit'
    const chosen = (/^\d{1,3}$/.test(line) ? options[Number(line) - 1] : undefined)?.name
    const named = chosen ?? names.find(name => name === line)
    if (named !== undefined) return named
    const near = nearNames(line, names)
    const hint = near.length > 0 ? ` Did you mean ${near.join(' or ')}?` : ''
    terminal.say(`“${line}” is none of these. Type a number from 1 to ${options.length}.${hint}`)
  }
}
