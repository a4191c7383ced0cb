import { writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { Readable } from 'node:stream'
import { describe, expect, it, onTestFinished } from 'vitest'
import { z } from 'zod'
import { diagnoseCommand } from '../../main/cli/diagnose.ts'
import { BadInput } from '../../main/cli/ending.ts'
import { wrapped } from '../../main/cli/terminal.ts'
import { demoBench } from '../../shared/demo/bench.ts'
import { CAUSES } from '../../shared/diagnose/causes.ts'
import { FACTS } from '../../shared/diagnose/facts.ts'
import { hideFaults } from '../../shared/diagnose/hide.ts'
import { causeSetReportSchema, factReportSchema, SYMPTOMS } from '../../shared/diagnose/report.ts'
import { symptomWords } from '../../shared/diagnose/words.ts'
import { withUnit } from '../../shared/fit/rule.ts'
import { writeBench } from '../../shared/model/bench.ts'
import { nearNames } from '../../shared/model/near.ts'
import { sayProblem } from '../../shared/model/problem.ts'
import { preflash, preflashTyping } from '../support/cli.ts'
import { testFolder } from '../support/folder.ts'

interface Run {
  readonly code: number
  readonly out: string
  readonly err: string
}

/** The verb in this process, with these lines typed. Ends with 2 for bad input, as the program does. */
async function run(args: readonly string[], typed: readonly string[] = []): Promise<Run> {
  let code = -1
  let out = ''
  const command = diagnoseCommand(
    ending => {
      code = ending
    },
    {
      stdin: Readable.from(typed.map(line => `${line}\n`)),
      stdout: {
        write(text) {
          out += text
        },
      },
    },
  )
  try {
    await command
      .exitOverride()
      .parseAsync([...(args.includes('--data') ? [] : ['--no-log']), ...args], { from: 'user' })
    return { code, out, err: '' }
  } catch (error) {
    if (!(error instanceof BadInput)) throw error
    return { code: 2, out, err: error.problems.map(sayProblem).join('\n') }
  }
}

/** As it reads without the breaks that fit it to a screen. */
const unwrapped = (text: string) =>
  text.replaceAll(/\n {2,}(?! *(?:-|How:|Caution:))/g, ' ').replaceAll(/\n +/g, '\n ')

/** What the demo is asked first about an update by air that is not offered. */
async function firstQuestion() {
  const { facts, nextCheck } = await ask('--symptom', 'not-offered')
  const fact = facts.find(f => f.id === nextCheck?.fact)
  if (fact === undefined) throw new Error('nothing is asked')
  return fact
}

const step = { minutes: z.number().positive(), why: z.string().min(10) }
/** What issue 4 says that `--json` gives. */
const answerSchema = z.strictObject({
  symptom: z.enum(SYMPTOMS),
  route: z.enum(['cable', 'wireless']),
  receiver: z.object({ id: z.string(), nickname: z.string() }),
  causes: z.array(causeSetReportSchema),
  counted: z.number(),
  nextCheck: z.object({ fact: z.string(), ...step }).nullable(),
  repair: z.strictObject({ members: z.array(z.string()).min(1), label: z.string(), ...step }).nullable(),
  ask: z.string().nullable(),
  facts: z.array(factReportSchema),
  factsNotUsed: z.array(z.string()),
  tried: z.array(z.string()),
  putOff: z.array(z.string()),
})
async function ask(...args: readonly string[]) {
  const { code, out, err } = await run([...args, '--json'])
  expect(err).toBe('')
  return { code, ...answerSchema.parse(JSON.parse(out)) }
}

/** What the demo's bench knows is taken away, so that everything has to be asked. */
function unknownBench(): string {
  const folder = testFolder('diagnose')
  onTestFinished(() => folder.remove())
  const path = join(folder.path, 'unknown.json')
  const module = { firmware: 'unknown', region: 'unknown', generation: 'unknown' } as const
  writeFileSync(path, writeBench(withUnit(demoBench(), 'modules', 'inner-tarn', module)))
  return path
}

describe('preflash diagnose --json', () => {
  it.each(SYMPTOMS)(
    '%s: causes, and one thing to do next, by each route that it can come by',
    async symptom => {
      for (const route of symptomWords[symptom].routes) {
        const d = await ask('--demo', '--symptom', symptom, '--route', route)
        expect(d).toMatchObject({ code: 0, symptom, route, receiver: { id: 'wren-trainer' } })
        expect(d.causes.length).toBeGreaterThan(0)
        expect([d.nextCheck, d.repair, d.ask].filter(one => one !== null)).toHaveLength(1)
        if (d.nextCheck) expect(d.facts.map(f => f.id)).toContain(d.nextCheck.fact)
      }
    },
  )

  it('takes facts, says where each answer comes from, and which told nothing here', async () => {
    const d = await ask(
      ...['--symptom', 'not-offered', '--fact', 'module-on=no', '--fact', 'signal-wire=yes'],
      ...['--fact', 'radio-battery=cannot-check'],
    )
    expect(d.causes[0].members.map(m => m.id)).toEqual(['module-off'])
    expect(d.causes[0].likelihood).toBeGreaterThan(0.9)
    expect(d.repair).toMatchObject({ members: ['module-off'], label: 'Switch the module on.' })
    const from = (id: string) => d.facts.find(f => f.id === id)
    expect(from('module-on')).toMatchObject({ answer: 'no', from: 'you' })
    expect(from('radio-battery')).toMatchObject({ answer: 'cannot-check', from: 'you' })
    expect(from('module-region')).toMatchObject({ answer: 'yes', from: 'bench' })
    expect(d.factsNotUsed).toEqual(['signal-wire'])
  })

  it('leaves out what was put right in vain, and ends with 1 when nothing is left that explains it', async () => {
    const without = await ask('--symptom', 'no-answer', '--tried', 'chatty-sensor')
    expect(without.code).toBe(0)
    const members = without.causes.flatMap(c => c.members.map(m => m.id))
    expect(members.length).toBeGreaterThan(0)
    expect(members).not.toContain('chatty-sensor')
    const none = await ask('--symptom', 'no-answer', ...CAUSES.flatMap(c => ['--tried', c.id]))
    expect(none).toMatchObject({ code: 1, causes: [], nextCheck: null, repair: null })
    expect(none.ask).toContain('Nothing that is known here')
  })

  it('offers something else for what is put off, and goes on suspecting it', async () => {
    const args = ['--symptom', 'no-answer', '--fact', 'line-quiet=no', '--fact', 'with-another-cable=no']
    const before = await ask(...args)
    const members = before.repair?.members ?? []
    expect(members).toEqual(['chatty-sensor'])
    const after = await ask(...args, '--put-off', 'chatty-sensor')
    expect(after.causes[0].members.map(m => m.id)).toEqual(members)
    expect(after.repair?.members ?? []).not.toContain('chatty-sensor')
    expect(after.putOff).toEqual(['chatty-sensor'])
  })

  it('takes the image that was to go in, and another receiver', async () => {
    const d = await ask(...['--receiver', 'wren-new', '--symptom', 'not-offered', '--image', 'wren-6-2.4.0'])
    expect(d.receiver.id).toBe('wren-new')
    expect(d.facts.find(f => f.id === 'first-by-cable')).toMatchObject({ answer: 'no', from: 'bench' })
    expect(d.causes[0].members.map(m => m.id)).toContain('receiver-first-by-cable')
  })
})

describe('preflash diagnose --list', () => {
  it('names every symptom, fact and cause, as text and as JSON', async () => {
    const text = (await run(['--list'])).out
    const list = JSON.parse((await run(['--list', '--json'])).out)
    expect(list.symptoms.map((s: { name: string }) => s.name)).toEqual([...SYMPTOMS])
    expect(list.symptoms[0]).toMatchObject({ label: expect.any(String), routes: ['cable', 'wireless'] })
    expect(list.facts.map((f: { id: string }) => f.id)).toEqual(FACTS.map(f => f.id))
    expect(list.causes.map((c: { id: string }) => c.id)).toEqual(CAUSES.map(c => c.id))
    for (const name of [...SYMPTOMS, ...FACTS.map(f => f.question), ...CAUSES.map(c => c.label)])
      expect(text).toContain(name)
  })
})

describe('preflash diagnose, bad input', () => {
  const one = ['--symptom', 'no-answer']
  it.each([
    [['--json'], '--symptom', 'not-offered'],
    [['--symptom', 'no-anwser', '--json'], '--symptom', 'Did you mean no-answer?'],
    [['--symptom', 'gremlins', '--json'], '--symptom', 'card-not-seen, dead,'],
    [[...one, '--receiver', 'wren-trianer', '--json'], '--receiver', 'Did you mean wren-trainer'],
    [[...one, '--receiver', 'flea-market', '--json'], '--receiver', 'type of'],
    [[...one, '--fact', 'line-quite=yes', '--json'], '--fact', 'Did you mean line-quiet?'],
    [[...one, '--fact', 'line-quiet', '--json'], '--fact', 'line-quiet=cannot-check'],
    [[...one, '--fact', 'line-quiet=perhaps', '--json'], '--fact', 'line-quiet=yes'],
    [[...one, '--fact', 'line-quiet=yes', '--fact', 'line-quiet=no', '--json'], '--fact', 'twice'],
    [[...one, '--tried', 'chaty-sensor', '--json'], '--tried', 'Did you mean chatty-sensor?'],
    [[...one, '--put-off', 'chaty-sensor', '--json'], '--put-off', 'Did you mean chatty-sensor?'],
    [[...one, '--image', 'nothing', '--json'], '--image', 'wren-6-2.4.0'],
    [[...one, '--route', 'wireless', '--json'], '--route', 'Expected: cable'],
    [[...one, '--route', 'post', '--json'], '--route', 'cable or wireless'],
    [['--bench', '/nowhere.json'], '/nowhere.json', 'no such file'],
    [['--receiver', 'nobody'], '--receiver', 'wren-trainer'],
    [[], '--symptom', 'not-offered'],
  ])('%j: ends with 2, and the message names %s', async (args, option, says) => {
    const { code, err } = await run(args)
    expect(code).toBe(2)
    expect(err.startsWith(`${option}: `), err).toBe(true)
    expect(err).toContain(says)
  })

  it('is told on the error stream of the program, with nothing on the other', async () => {
    const { code, out, err } = await preflash('diagnose', '--symptom', 'gremlins', '--json')
    expect({ code, out }).toEqual({ code: 2, out: '' })
    expect(err).toContain('Expected: one of card-not-seen')
  })
})

const everyFactClosed = FACTS.flatMap(f => ['--fact', `${f.id}=cannot-check`])

describe('preflash diagnose, a conversation', () => {
  it('asks for the symptom and the route, then for facts, and comes to a repair that helps', async () => {
    const { code, out } = await run(
      ['--bench', unknownBench(), '--receiver', 'wren-trainer'],
      // A fact by its name, unasked; then the first repair does not help, and the second does.
      ['seven', '7', '1', 'volts-hold=no', 'n', 'y'],
    )
    expect(out).toContain('  7. It starts, and stops on the way')
    expect(out).toContain('“seven” is none of these')
    expect(out).toContain('Which way did the update go?')
    expect(out).toContain('update by cable')
    expect(out).toMatch(/Repair: Make the supply sure, and write again by cable\. About 8 minutes\.\n/)
    expect(out).toMatch(/Caution: .*\n? *destroys a receiver/)
    expect(out).toContain('did not help:\n  - The cable comes loose on the way')
    expect(out).toContain('Put right, and it works now:\n  - Power is lost on the way')
    expect(out).toContain('Set the failsafe again and test it')
    expect(out).toContain('Range check at reduced power')
    expect(code).toBe(0)
  })

  it('follows its own advice through looks and repairs in vain to the cause that is there', async () => {
    // The module is set for another generation: answer the truth to what is asked, line by line.
    const args = ['--bench', unknownBench(), '--symptom', 'not-offered']
    const truth: Record<string, string> = { 'module-generation': 'n' }
    const typed: string[] = []
    for (let i = 0; i < 30; i++) {
      const { out } = await run(args, typed)
      const last = out.slice(out.lastIndexOf('\n\n', out.lastIndexOf(' > ')))
      const shown = FACTS.find(f => last.replaceAll(/\n +/g, ' ').includes(f.question))
      if (last.includes('Repair: ')) {
        const isIt = last.includes('Set the module for the generation')
        typed.push(isIt ? 'y' : 'n')
        if (isIt) break
      } else typed.push(truth[shown?.id ?? ''] ?? 'y')
    }
    expect(typed.at(-1)).toBe('y')
    const { code, out } = await run(args, typed)
    expect(code).toBe(0)
    expect(out.slice(out.indexOf('works now:'))).toContain('  - The module is set for another generation')
    expect(typed.length).toBeLessThan(10)
  })

  it('says how to look, how long it takes, and what can happen', async () => {
    const { out } = await run(['--symptom', 'not-offered'])
    const { question, look, minutes } = await firstQuestion()
    expect(unwrapped(out)).toContain(`\n${question}\n How: ${look} About ${minutes} minute`)
    expect(out).toContain('y yes, n no, c cannot check')
    const rest = FACTS.filter(f => f.risk === undefined).flatMap(f => ['--fact', `${f.id}=cannot-check`])
    const risky = await ask('--symptom', 'no-bind', ...rest)
    const risk = risky.facts.find(f => f.id === risky.nextCheck?.fact)?.risk
    if (risk)
      expect(unwrapped((await run(['--symptom', 'no-bind', ...rest])).out)).toContain(`Caution: ${risk}`)
  })

  it('takes the last answer back, and asks the same again', async () => {
    const { question } = await firstQuestion()
    const { out } = await run(['--symptom', 'not-offered'], ['y', 'b', 'b', 'q'])
    expect(out).toContain(`Taken back: ${question}`)
    expect(out).toContain('There is nothing to take back.')
    expect(out.split(`\n${question}\n`)).toHaveLength(3)
    expect(out).not.toContain('Answers:')
    const named = (await run(['--symptom', 'not-offered'], ['module-on=no', 'q'])).out
    expect(named).toContain('Answers:\n  - Is the module switched on? No.\nWhat explains')
  })

  it('asks a second time before a long repair, and goes on when the answer is the same', async () => {
    const { question } = await firstQuestion()
    const { out } = await run(['--symptom', 'not-offered'], ['n', 'n', 'q'])
    const [, once, again] = out.split(`\n${question}\n`)
    expect(once).not.toContain('It was answered before')
    expect(again).toContain('It was answered before, but much hangs on it')
    expect(again).toMatch(/Repair this|How:/)
    const open = (await run(['--symptom', 'not-offered'], ['n', 'y', 'q'])).out
    expect(open).not.toContain(`  - ${question}`)
  })

  it('takes back that a repair did not help, and goes back to the choice of the symptom', async () => {
    const { out } = await run([], ['5', 'n', 'b', 'b', 'not-offered', 'q'])
    expect(out).toContain('Taken back: that this did not help')
    expect(out.match(/What do you see\?/g)).toHaveLength(2)
    expect(out).toContain('What was seen: The wireless update is not offered.')
  })

  it('does not ask again for what cannot be checked, and does not mistake it for an answer', async () => {
    const { question } = await firstQuestion()
    const { code, out } = await run(['--symptom', 'not-offered'], ['c', 'q'])
    expect(out.split(`\n${question}\n`)).toHaveLength(2)
    expect(out).toContain(`- ${question} Cannot be checked.`)
    expect(code).toBe(0)
  })

  it('says why: the causes with likelihood and explanation; and lists the facts', async () => {
    const { out } = await run(['--symptom', 'not-offered'], ['w', 'f', 'q'])
    expect(out).toMatch(/- The module is switched off \(\d+ %\)\n {6}Nothing goes out on the air\./)
    expect(out).toContain('- module-on: Is the module switched on? Not known.')
    expect(out.replaceAll(/\n +/g, ' ')).toMatch(/module-region: [^?]+\? Yes\. \(from the bench\)/)
  })

  it('says of each answer where it came from: the bench, the command, or this conversation', async () => {
    const args = ['--symptom', 'not-offered', '--fact', 'module-on=yes', '--fact', 'radio-battery=yes']
    const { out } = await run(args, ['radio-battery=no', 'f', 'b', 'f', 'q'])
    const said = (fact: string) => out.replaceAll(/\n +(?!- )/g, ' ').match(new RegExp(`- ${fact}: .*`, 'g'))
    expect(said('module-on')?.[0]).toMatch(/Yes\. \(given with the command\)/)
    expect(said('module-region')?.[0]).toMatch(/Yes\. \(from the bench\)/)
    expect(said('radio-battery')?.[0]).toMatch(/No\. \(answered here\)/)
    // Taken back, it is what came with the command again.
    expect(said('radio-battery')?.[1]).toMatch(/Yes\. \(given with the command\)/)
  })

  it('prints what was found when one quits or the input ends, and ends with 1 where that is nothing', async () => {
    const quit = await run(['--symptom', 'dead'], ['q'])
    expect(quit.code).toBe(0)
    expect(quit.out).toContain('What explains it, the likeliest first:\n  - ')
    expect(quit.out).toContain('No flight before failsafe and range check')
    expect(quit.out).toMatch(/Next(, look)?: /)
    const none = await run(['--symptom', 'dead', ...CAUSES.flatMap(c => ['--tried', c.id])])
    expect(none.code).toBe(1)
    expect(none.out).toContain('Nothing that is known here explains it.')
    expect((await run([], ['q'])).code).toBe(1)
  })

  it('puts a repair off and offers the next best thing, which can be taken back', async () => {
    const args = ['--symptom', 'not-offered', '--fact', 'module-on=no']
    const { out, code } = await run(args, ['n', 'c', 'b', 'q'])
    expect(code).toBe(0)
    expect(out).toContain('Taken back: ')
    const off = (await run(['--symptom', 'dead'], ['cannot receiver-dead', 'q'])).out
    expect(off).toContain('Cannot be put right now:\n  - The receiver is destroyed')
    const repair = (await run(['--symptom', 'no-telemetry', ...everyFactClosed], ['c', 'b', 'q'])).out
    expect(repair).toContain('c cannot be done now')
    expect(repair).toContain('Taken back: that this cannot be done now: ')
    expect(repair.split('\nRepair: Switch telemetry on')).toHaveLength(3)
  })

  it('takes any cause for put right, in vain or not, whatever is offered', async () => {
    const vain = await run(['--symptom', 'dead'], ['w', 'same receiver-dead', 'q'])
    expect(unwrapped(vain.out)).toContain(
      'Type helped receiver-dead, same receiver-dead, or cannot receiver-dead.',
    )
    expect(vain.out).toContain('did not help:\n  - The receiver is destroyed')
    const done = await run(['--symptom', 'no-answer'], ['helped chatty-sensor+signal-wire-open'])
    expect(done.code).toBe(0)
    expect(done.out).toMatch(/works now:\n {2}- A sensor goes on talking.*\n {2}- The signal wire/)
    expect((await run(['--symptom', 'dead'], ['helped gremlins', 'q'])).out).toContain('is not understood')
  })

  it('says which keys there are to anything else', async () => {
    const { out } = await run(['--symptom', 'dead'], ['maybe', 'line-quiet=perhaps', 'constructor', 'q'])
    expect(out.match(/is not understood/g)).toHaveLength(3)
  })

  it('is held with lines from a pipe as it is with a person', async () => {
    const { code, out, err } = await preflashTyping('5\nw\nq\n', 'diagnose')
    expect({ code, err }).toEqual({ code: 0, err: '' })
    expect(out).toContain('What was seen: The cable does not answer.')
  })
})

describe('names that may have been meant', () => {
  it('are near by letters or hold what was typed, and are at most three', () => {
    expect(nearNames('Module On', ['module-on', 'module-off'])).toEqual(['module-on', 'module-off'])
    expect(nearNames('battery', ['radio-battery', 'card-room'])).toEqual(['radio-battery'])
    expect(nearNames('stosp', [...SYMPTOMS])).toEqual(['stops'])
    expect(nearNames('xyzzy', [...SYMPTOMS])).toEqual([])
    expect(nearNames('', [...SYMPTOMS])).toEqual([])
    expect(nearNames('no', ['no-a', 'no-b', 'no-c', 'no-d'])).toHaveLength(3)
  })
})

describe('wrapped text', () => {
  it('keeps within ninety columns and below its own beginning, and loses no word', () => {
    const text = `  - ${'word '.repeat(60)}end`
    const lines = wrapped(text).split('\n')
    expect(lines.length).toBeGreaterThan(2)
    for (const line of lines) expect(line.length).toBeLessThanOrEqual(90)
    for (const line of lines.slice(1)) expect(line).toMatch(/^ {4}\S/)
    expect(lines.join(' ').split(/\s+/)).toEqual(text.split(/\s+/))
  })
})

describe('diagnose --train', () => {
  it('hides the same under the same number, answers from the table, and counts both sides at the end', async () => {
    const hidden = hideFaults(demoBench(), 'wren-trainer', 7)!
    const typed = ['facts', 'causes', 'nonsense', 'repair nonsense', 'with-another-card']
    const repairs = hidden.truth.map(id => `repair ${id}`)
    const done = await run(['--train', '--seed', '7', '--receiver', 'wren-trainer'], [...typed, ...repairs])
    expect(done.code).toBe(0)
    expect(done.out).toContain(symptomWords[hidden.symptom].label)
    expect(done.out).toContain('"nonsense" is not the name of a fact')
    expect(done.out).toContain('"nonsense" is not the name of a cause')
    const answer = hidden.ask('with-another-card') === 'yes' ? 'Yes.' : 'No.'
    expect(done.out).toContain(`${FACTS.find(f => f.id === 'with-another-card')?.question} ${answer}`)
    expect(done.out).toContain('Now it works.')
    for (const id of hidden.truth) expect(done.out).toContain(CAUSES.find(c => c.id === id)?.label)
    expect(done.out).toMatch(/You: 1 looks, \d repairs, \d+ minutes/)
    expect(done.out).toMatch(/The engine: \d+ looks, \d+ repairs/)
  })

  it('tells when somebody gives up, and ends with 1', async () => {
    const done = await run(['--train', '--seed', '3'], ['q'])
    expect(done.code).toBe(1)
    expect(done.out).toContain('not finished')
    expect(done.out).toContain('It was: ')
  })

  it('refuses a number that is none', async () => {
    expect(await run(['--train', '--seed', 'x'])).toMatchObject({ code: 2 })
  })
})
