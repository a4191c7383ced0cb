import { Command } from 'commander'
import { type Chosen, lineOfChosen } from '../../shared/bench-run/chosen.ts'
import type { Bench } from '../../shared/model/bench.ts'
import { wiringSchema } from '../../shared/model/gear.ts'
import { oneOf } from '../../shared/model/problem.ts'
import { checkWiring, type WiringCheck } from '../../shared/wiring/check.ts'
import type { Severity } from '../../shared/wiring/finding.ts'
import type { Line, Setup, WiringRequest } from '../../shared/wiring/setup.ts'
import { fileOrBuiltIn } from './dialect-option.ts'
import { BadInput, type Ending, EXIT } from './ending.ts'
import { bad, benchFrom } from './input.ts'

interface Options {
  readonly demo?: boolean
  readonly bench?: string
  readonly receiver?: string
  readonly adapter?: string
  readonly cable?: string
  readonly feed?: string
  readonly supply?: string
  readonly line?: string
  readonly dialect?: string
  readonly json?: boolean
}

const FEEDS = wiringSchema.shape.cableFeed.options

export function wiringCommand(end: (ending: Ending) => void): Command {
  return new Command('wiring')
    .description(
      'Check the wiring of a USB serial adapter to a receiver before there is power: what every pin would get, and what is dangerous.',
    )
    .option('--demo', 'on the demo bench (what is taken when no bench is named)')
    .option('--bench <file>', 'on this bench file')
    .option('--receiver <id>', 'the receiver')
    .option('--adapter <id>', 'the adapter')
    .option('--cable <id>', 'the cable between them')
    .option('--feed <how>', `what feeds the receiver: ${FEEDS.join(', ')}; without it, as the bench says`)
    .option('--supply <id>', 'the supply of its own; without it, that of its model')
    .option(
      '--line <how>',
      'the line as the dialect has it: inverted or straight, half or full, such as straight,full',
    )
    .option(
      '--dialect <name-or-file>',
      'what is to be spoken, which says the line, and where a receiver with a connector of its own for it is plugged in',
    )
    .option('--json', 'print JSON')
    .action(async (options: Options) => end(await run(options)))
}

async function run(options: Options): Promise<Ending> {
  const bench = await benchFrom(options)
  const done = checkWiring(requestOf(bench, options, await fileOrBuiltIn(options.dialect)))
  if (!done.ok)
    throw new BadInput(done.problems.map(p => ({ ...p, field: `--${p.field}`, file: options.bench })))
  process.stdout.write(options.json ? `${JSON.stringify(asJson(done.value), null, 2)}\n` : asText(done.value))
  return done.value.safe ? EXIT.done : EXIT.negative
}

function requestOf(bench: Bench, options: Options, chosen: Chosen | undefined): WiringRequest {
  const named = (field: 'receiver' | 'adapter' | 'cable', list: readonly { readonly id: string }[]): string =>
    options[field] ??
    bad({
      code: `wiring.no-${field}`,
      field: `--${field}`,
      message: `The ${field} is not named.`,
      expected: oneOf(
        list.map(item => item.id),
        `a ${field} on the bench; there is none yet`,
      ),
    })
  return {
    bench,
    receiverId: named('receiver', bench.receivers),
    adapterId: named('adapter', bench.adapters),
    cableId: named('cable', bench.cables),
    feed: feedOption(options.feed) ?? bench.wiring.cableFeed,
    supplyId: options.supply,
    line: lineOption(options.line) ?? (chosen && lineOfChosen(chosen)),
    dialect: chosen?.name,
  }
}

/** @throws BadInput for a way to feed that there is none */
export function feedOption(text: string | undefined): WiringRequest['feed'] | undefined {
  if (text === undefined) return undefined
  return (
    FEEDS.find(feed => feed === text) ??
    bad({
      code: 'cli.feed',
      field: '--feed',
      message: `There is no way to feed called "${text}".`,
      expected: FEEDS.join(', '),
    })
  )
}

/** Two words in either order; what is not said is what most lines are. */
function lineOption(text: string | undefined): Line | undefined {
  if (text === undefined) return undefined
  const words = text.split(',').map(word => word.trim())
  if (words.every(word => /^(inverted|straight|half|full)$/.test(word)))
    return { inverted: words.includes('inverted'), duplex: words.includes('full') ? 'full' : 'half' }
  return bad({
    code: 'cli.line',
    field: '--line',
    message: `"${text}" is not understood.`,
    expected: 'inverted or straight, half or full, such as straight,full',
  })
}

/** A cure is named and said; what it changes is done in the workbench. */
function asJson({ safe, setup, pins, wires, findings, misplaced }: WiringCheck) {
  return {
    safe,
    at: setup ? { connector: setup.connector.name, isService: setup.entry.at === 'service' } : null,
    pins,
    wires,
    findings: findings.map(({ cure, ...finding }) => ({
      ...finding,
      ...(cure
        ? { cure: { id: cure.id, label: cure.label, ...(cure.choose ? { choose: cure.choose } : {}) } }
        : {}),
    })),
    misplaced: misplaced.map(({ end, how, possible, worst }) => ({
      end,
      how,
      possible,
      worst: worst ? { code: worst.code, why: worst.why } : null,
    })),
  }
}

const words: Readonly<Record<Severity, string>> = {
  danger: 'DANGER',
  block: 'stop',
  warn: 'look',
  ok: 'ok',
}

const sayEntry = ({ type, entry, connector }: Setup): string =>
  `${entry.at === 'service' ? 'the service connector' : 'the plug of the update cable'} of the ${type.name} (${connector.name}).`

function asText({ safe, setup, pins, findings }: WiringCheck): string {
  const lines = [
    safe ? 'The wiring is safe as it is drawn here.' : 'NOT SAFE: leave the power off.',
    ...(setup ? [`The cable goes into: ${sayEntry(setup)}`] : []),
    '',
    ...pins.map(p => `  pin ${p.pin}  ${p.name.padEnd(8)} ${p.role.padEnd(9)} ${p.words}`),
    '',
    ...findings.map(
      f => `${words[f.severity].padEnd(7)} ${f.why}${f.cure ? `\n        Cure: ${f.cure.label}` : ''}`,
    ),
  ]
  return `${lines.join('\n')}\n`
}
