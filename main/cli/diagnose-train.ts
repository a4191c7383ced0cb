import { CAUSES, findCause } from '../../shared/diagnose/causes.ts'
import { findFact } from '../../shared/diagnose/facts.ts'
import { type HiddenFaults, hideFaults } from '../../shared/diagnose/hide.ts'
import { modelSymptom, modelTable, type TableModel } from '../../shared/diagnose/model.ts'
import { usualCosts } from '../../shared/diagnose/next-check.ts'
import { solve } from '../../shared/diagnose/solve.ts'
import { symptomWords } from '../../shared/diagnose/words.ts'
import type { Bench } from '../../shared/model/bench.ts'
import { nearNames } from '../../shared/model/near.ts'
import { type Ending, EXIT } from './ending.ts'
import { bad } from './input.ts'
import type { Terminal } from './terminal.ts'

/**
 * Training: something is wrong on a simulated table, and the person finds it by looking and repairing. Every answer
 * comes from a session on that table; at the end both are counted, the person and the engine.
 * @returns done when the person got it to work
 */
export async function train(
  terminal: Terminal,
  bench: Bench,
  receiverId: string,
  seed: number,
): Promise<Ending> {
  const hidden = hideFaults(bench, receiverId, seed)
  const table = hidden && modelTable(bench, receiverId, hidden.route)
  if (hidden === undefined || table === undefined)
    return bad({
      code: 'bench.no-receiver',
      field: '--receiver',
      message: `There is no receiver called "${receiverId}" of a known type on this bench.`,
    })
  terminal.say(
    `Training, number ${seed}. Simulated: nothing here is about your own gear. The update goes ${hidden.route === 'cable' ? 'by cable' : 'by air'}; one thing is wrong, or two.`,
    'Type the name of a fact to look at it, "repair CAUSE" to put something right and try again, "facts", "causes", or "q" to be told.',
  )
  const done = await practise(terminal, hidden, table)
  sumUp(terminal, hidden, table, done)
  return done.works ? EXIT.done : EXIT.negative
}

interface Practised {
  works: boolean
  looks: number
  minutes: number
  readonly repaired: string[]
}

async function practise(terminal: Terminal, hidden: HiddenFaults, table: TableModel): Promise<Practised> {
  const done: Practised = { works: false, looks: 0, minutes: 0, repaired: [] }
  let symptom: ReturnType<HiddenFaults['after']> = hidden.symptom
  terminal.say(`What is seen: ${symptomWords[hidden.symptom].label}.`)
  while (symptom !== 'none') {
    const line = await terminal.hear('look or repair')
    if (line === undefined || line === 'q') return done
    const facts = modelSymptom(table, symptom).facts.map(fact => fact.spec.id)
    if (line === 'facts')
      terminal.say(...facts.map(id => `  ${id}: ${findFact(id)?.question} (${findFact(id)?.minutes} min)`))
    else if (line === 'causes')
      terminal.say(...table.causes.map(({ cause }) => `  ${cause.id}: ${cause.label}`))
    else if (line.startsWith('repair ')) symptom = repair(terminal, hidden, done, line.slice(7).trim())
    else look(terminal, hidden, done, line)
  }
  done.works = true
  return done
}

function look(terminal: Terminal, hidden: HiddenFaults, done: Practised, id: string): void {
  const fact = findFact(id)
  if (fact === undefined) return unknown(terminal, id, 'a fact')
  done.looks++
  done.minutes += fact.minutes
  terminal.say(`${fact.question} ${hidden.ask(id, done.repaired) === 'yes' ? 'Yes.' : 'No.'}`)
}

function repair(
  terminal: Terminal,
  hidden: HiddenFaults,
  done: Practised,
  id: string,
): ReturnType<HiddenFaults['after']> {
  const cause = findCause(id)
  if (cause === undefined) unknown(terminal, id, 'a cause')
  else {
    done.repaired.push(id)
    done.minutes += cause.repair.minutes + usualCosts.tryMinutes
    const { caution } = cause.repair
    terminal.say(`${cause.repair.label}${caution === undefined ? '' : ` On real gear: ${caution}`}`)
  }
  const after = hidden.after(done.repaired)
  if (cause !== undefined)
    terminal.say(after === 'none' ? 'Now it works.' : `Tried again: ${symptomWords[after].label}.`)
  return after
}

function unknown(terminal: Terminal, given: string, what: string): void {
  const names = what === 'a fact' ? 'facts' : 'causes'
  const near = nearNames(given, what === 'a fact' ? [] : CAUSES.map(cause => cause.id))
  terminal.say(
    `"${given}" is not the name of ${what}.${near.length > 0 ? ` Do you mean ${near.join(' or ')}?` : ''} "${names}" lists them.`,
  )
}

function sumUp(terminal: Terminal, hidden: HiddenFaults, table: TableModel, done: Practised): void {
  const engine = solve(hidden, table)
  const names = hidden.truth.map(id => findCause(id)?.label ?? id)
  terminal.say(
    `It was: ${names.join('; and ')}.`,
    `You: ${done.looks} looks, ${done.repaired.length} repairs, ${done.minutes} minutes on the real thing${done.works ? '' : ', not finished'}.`,
    `The engine: ${engine.looks} looks, ${engine.repairs} repairs, ${engine.minutes} minutes.`,
  )
}
