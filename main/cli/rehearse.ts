import { Command } from 'commander'
import { effortWords } from '../../shared/bench-run/effort.ts'
import type { Bench } from '../../shared/model/bench.ts'
import type { Result } from '../../shared/model/problem.ts'
import { type Rehearsal, rehearse } from '../../shared/rehearse/rehearse.ts'
import type { RehearsalReport } from '../../shared/rehearse/report.ts'
import { FAULTS } from '../../shared/sim/faults.ts'
import { traceText } from '../../shared/sim/trace-text.ts'
import {
  defaultReceiver,
  FAMILY_OPTION,
  faultChoice,
  gather,
  imageChoice,
  routeOption,
  seedOption,
} from './choices.ts'
import { type Ending, EXIT } from './ending.ts'
import { writeOutput } from './file-output.ts'
import { benchFrom, need } from './input.ts'

interface Options {
  readonly demo?: boolean
  readonly bench?: string
  readonly receiver?: string
  readonly image?: string
  readonly declare?: string
  readonly family?: string
  readonly route?: string
  readonly seed: string
  readonly fault: readonly string[]
  readonly json?: boolean
  readonly trace?: string
  readonly flash?: string
  readonly dropOutside?: boolean
  readonly list?: boolean
}

export function rehearseCommand(end: (ending: Ending) => void): Command {
  return new Command('rehearse')
    .description('Rehearse the update of one receiver on simulated devices.')
    .option('--demo', 'on the demo bench (what is taken when no bench is named)')
    .option('--bench <file>', 'on this bench file')
    .option('--receiver <id>', 'the receiver to update')
    .option('--image <file-or-id>', 'an image file (Intel HEX or raw), or the id of an image on the bench')
    .option(...FAMILY_OPTION)
    .option('--declare <what>', 'what an image without an image card is for: type=ID,version=X')
    .option('--route <route>', 'cable or wireless')
    .option('--seed <n>', 'seed of the dice, 0 to 4294967295', '1')
    .option('--fault <name[=value]>', 'switch a fault on; may be given several times', gather, [])
    .option('--json', 'print the report as JSON')
    .option('--trace <file>', 'write everything that happened on the lines to this file')
    .option(
      '--flash <file>',
      "write what the simulated receiver's program flash holds afterwards to this file",
    )
    .option('--drop-outside', 'leave out what lies outside program flash instead of refusing')
    .option('--list', 'name the receivers, images and faults')
    .action(async (options: Options) => end(await run(options)))
}

async function run(options: Options): Promise<Ending> {
  const bench = await benchFrom(options)
  if (options.list) {
    process.stdout.write(options.json ? `${JSON.stringify(listing(bench), null, 2)}\n` : listingText(bench))
    return EXIT.done
  }
  const receiverId = options.receiver ?? defaultReceiver(bench)
  const rehearsal = need(
    withOption(
      rehearse(
        {
          bench,
          receiverId,
          image: await imageChoice(bench, receiverId, options),
          route: routeOption(options.route),
          seed: seedOption(options.seed),
          faults: options.fault.map(faultChoice),
          dropOutside: options.dropOutside ?? false,
        },
        { nowMs: () => performance.now() },
      ),
    ),
  )
  await writeOutputs(rehearsal, options)
  const { report } = rehearsal
  process.stdout.write(options.json ? `${JSON.stringify(report, null, 2)}\n` : reportText(report))
  return report.outcome === 'updated' ? EXIT.done : EXIT.negative
}

/** Where the remedy is an option of the command line, it is named. */
function withOption(result: Result<Rehearsal>): Result<Rehearsal> {
  if (result.ok) return result
  const problems = result.problems.map(p =>
    p.code === 'image.outside'
      ? { ...p, remedy: `${p.remedy ?? ''} On the command line: --drop-outside.`.trim() }
      : p,
  )
  return { ok: false, problems }
}

async function writeOutputs(rehearsal: Rehearsal, { trace, flash }: Options): Promise<void> {
  if (trace !== undefined) await writeOutput(trace, '--trace', traceText(rehearsal.trace))
  if (flash !== undefined) await writeOutput(flash, '--flash', rehearsal.flash)
}

function listing(bench: Bench) {
  return {
    receivers: bench.receivers.map(r => ({
      id: r.id,
      nickname: r.nickname,
      typeId: r.typeId,
      firmware: r.firmware,
    })),
    images: bench.images.map(i => ({
      id: i.id,
      name: i.name,
      typeId: i.typeId,
      version: i.version,
      sizeBytes: i.sizeBytes,
    })),
    faults: FAULTS.map(({ name, label, mechanism, routes, parameter }) => ({
      name,
      label,
      mechanism,
      routes,
      parameter,
    })),
  }
}

function listingText(bench: Bench): string {
  const { receivers, images, faults } = listing(bench)
  const row = (cells: readonly string[], widths: readonly number[]) =>
    `  ${cells.map((cell, i) => cell.padEnd(widths[i] ?? 0)).join('  ')}`.trimEnd()
  return [
    'Receivers',
    ...receivers.map(r => row([r.id, r.typeId, r.firmware, r.nickname], [18, 18, 9])),
    'Images',
    ...images.map(i => row([i.id, i.typeId, i.version, i.name], [18, 18, 9])),
    'Faults',
    ...faults.map(f =>
      row(
        [
          f.name,
          f.routes.join(', '),
          f.parameter
            ? `=${f.parameter.usual}${f.parameter.kind === 'number' ? ` ${f.parameter.unit}` : ''}`
            : '',
          f.label,
        ],
        [18, 18, 12],
      ),
    ),
    '',
  ].join('\n')
}

function reportText(report: RehearsalReport): string {
  const seconds = (ms: number) => `${(ms / 1000).toFixed(1)} s`
  const broken = report.findings.filter(f => f.holds !== 'yes')
  return [
    `REHEARSAL, simulated devices only. ${report.image.name} to ${report.receiver.nickname}, ${report.route}, seed ${report.seed}`,
    '',
    `Outcome: ${report.outcome}. ${report.sentence}`,
    report.why,
    `${seconds(report.simulatedMs)} of the bench's time, ${effortWords(report)}. Firmware ${report.receiver.firmwareBefore} before, ${report.receiver.firmwareAfter} after.`,
    ...(report.image.droppedOutsideBytes > 0
      ? [`Left out, outside program flash: ${report.image.droppedOutsideBytes} octets.`]
      : []),
    '',
    ...report.events.filter(e => e.kind !== 'retry').map(e => `${seconds(e.atMs).padStart(9)}  ${e.text}`),
    ...(broken.length > 0
      ? [
          '',
          'Rules that do not hold, or cannot be judged:',
          ...broken.map(
            f =>
              `  ${f.holds === 'no' ? 'no ' : '?  '} ${f.sentence}${f.remedies[0] ? ` Remedy: ${f.remedies[0].label}` : ''}`,
          ),
        ]
      : []),
    ...recoveryText(report),
    '',
    'Before you do this on hardware:',
    ...report.cautions.map(c => `  - ${c}`),
    'Afterwards:',
    ...report.afterwards.map(c => `  - ${c}`),
    '',
  ].join('\n')
}

function recoveryText(report: RehearsalReport): string[] {
  const { recovery } = report
  if (recovery === null) return []
  const { outcome, simulatedMs, standIn } = recovery.rehearsed
  return [
    '',
    'Recovery:',
    ...recovery.steps.flatMap((step, i) => [
      `  ${i + 1}. ${step.text}`,
      ...(step.caution ? [`     Caution: ${step.caution}`] : []),
      ...(step.expect ? [`     Then: ${step.expect}`] : []),
    ]),
    `  Carried out by the simulator: ${outcome}, in ${(simulatedMs / 1000).toFixed(1)} s${standIn ? ', with an image built here to stand in for the one that is missing' : ''}.`,
  ]
}
