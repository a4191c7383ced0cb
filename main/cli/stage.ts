import { Command } from 'commander'
import { around, type Bench, findType } from '../../shared/model/bench.ts'
import type { ReceiverType } from '../../shared/model/catalogue.ts'
import { type Problem, sayProblem } from '../../shared/model/problem.ts'
import { typeNotKnown } from '../../shared/model/type-not-known.ts'
import { isKnown } from '../../shared/model/units.ts'
import { type ReadyImage, readyImage } from '../../shared/rehearse/image.ts'
import type { ImageChoice } from '../../shared/rehearse/report.ts'
import { type Staged, stageOnVolume } from '../card/stage.ts'
import { type Target, targetAt } from '../card/target.ts'
import { checkStaged } from './check-card.ts'
import { defaultReceiver, FAMILY_OPTION, imageChoice } from './choices.ts'
import { type Ending, EXIT } from './ending.ts'
import { bad, benchFrom, need } from './input.ts'

interface Options {
  readonly demo?: boolean
  readonly bench?: string
  readonly receiver?: string
  readonly image?: string
  readonly check?: boolean
  readonly volume: string
  readonly folder?: string
  readonly folderOnly?: boolean
  readonly declare?: string
  readonly family?: string
  readonly dropOutside?: boolean
  readonly json?: boolean
}

const HELP = `
The volume is the top folder of a mounted card, or of the radio's own storage. Disks of the computer's own,
network drives and memory disks are refused. An ordinary folder of yours may stand in for a card: it is taken,
and the answer says that it is only a folder. --folder-only says so beforehand; it is needed on network drives, on
memory disks, inside other volumes, and where a card would be mounted but is not.

Exit code: 0 the image is on the card and was read back; 1 the card did not take it, or it was stopped; with
--check, something is damaged, missing or stale; 2 the image, the bench or the volume cannot be used.`

export function stageCommand(end: (ending: Ending) => void): Command {
  return new Command('stage')
    .description('Put an image on a card, prove that it arrived intact, and write down what is there.')
    .option('--image <file-or-id>', 'an image file, or the id of an image on the bench')
    .option(
      '--check',
      'stage nothing: say what is there, for which receivers, and what of it is stale or damaged',
    )
    .requiredOption('--volume <dir>', 'the top folder of the card')
    .option('--folder <name>', "the folder on the card; the bench's card says which where this is not given")
    .option('--folder-only', 'the volume is only a folder, not a card')
    .option('--receiver <id>', 'the receiver that it is for; an image for another type is then refused')
    .option('--demo', 'on the demo bench (what is taken when no bench is named)')
    .option('--bench <file>', 'on this bench file')
    .option(...FAMILY_OPTION)
    .option('--declare <what>', 'what an image without an image card is for: type=ID,version=X')
    .option('--drop-outside', 'leave out what lies outside program flash instead of refusing')
    .option('--json', 'print JSON')
    .addHelpText('after', HELP)
    .action(async (options: Options) => end(await run(options)))
}

async function run(options: Options): Promise<Ending> {
  const bench = await benchFrom(options)
  const receiverId = options.receiver ?? defaultReceiver(bench)
  if ((options.image === undefined) !== (options.check ?? false)) return bad(imageOrCheck)
  const image = options.check ? undefined : await imageFor(bench, receiverId, options)
  const target = need(await targetAt(options.volume, { folderOnly: options.folderOnly }))
  const { card, radio } = around(bench, receiverId)
  const folder = options.folder ?? card?.folder ?? 'IMAGES'
  if (image === undefined) return checkStaged(bench, target, folder, options.json ?? false)
  const stop = new AbortController()
  const interrupt = () => stop.abort()
  process.once('SIGINT', interrupt)
  try {
    const staged = await stageOnVolume({
      image,
      target,
      folder,
      at: new Date().toISOString(),
      cardName: target.volume?.label ?? (target.kind === 'folder' ? undefined : radio?.nickname),
      signal: stop.signal,
    })
    if (staged.ok) return say(options, image, target, staged.value, staged.warnings)
    return sayFailure(options, image, staged.problems)
  } finally {
    process.off('SIGINT', interrupt)
  }
}

const imageOrCheck: Problem = {
  code: 'cli.image',
  field: '--image',
  message: 'Either an image to stage, --image, or --check, is needed; not both.',
}

/** The image for the type that was named, or else for the one that the image itself, or its card, names. */
async function imageFor(bench: Bench, receiverId: string, options: Options): Promise<ReadyImage> {
  const choice = await imageChoice(bench, receiverId, options)
  const own = bench.receivers.find(r => r.id === receiverId)?.typeId
  const typeId = options.receiver === undefined ? (typeNamedBy(bench, choice) ?? own) : own
  const type = findType(bench.catalogue, 'receiverTypes', typeId ?? '') as ReceiverType | undefined
  const unit = bench.receivers.find(r => r.id === receiverId)
  if (type === undefined && unit && !isKnown(unit.typeId)) return bad(typeNotKnown(unit))
  if (type === undefined)
    return bad({
      code: 'bench.no-receiver',
      field: '--receiver',
      message: `There is no receiver called "${receiverId}" on this bench.`,
      expected: `one of ${bench.receivers.map(r => r.id).join(', ')}`,
    })
  const image = need(readyImage(bench, type, choice, options.dropOutside ?? false))
  if (options.receiver !== undefined && image.card.typeId !== type.id)
    return bad({
      code: 'image.other-type',
      file: options.image,
      field: '--receiver',
      message: `This image is for the type ${image.card.typeId}, and ${receiverId} is of the type ${type.id}.`,
      remedy: 'Choose another image, or leave --receiver out to put this one on the card all the same.',
    })
  return image
}

function typeNamedBy(bench: Bench, choice: ImageChoice): string | undefined {
  if (choice.kind === 'bench') return bench.images.find(i => i.id === choice.imageId)?.typeId
  if (choice.kind !== 'file') return undefined
  if (choice.declared?.typeId !== undefined) return choice.declared.typeId
  const named = /"typeId"\s*:\s*"([^"]*)"/.exec(choice.cardText ?? '')?.[1]
  return bench.catalogue.receiverTypes.some(t => t.id === named) ? named : undefined
}

const onlyVolume = ({ kind, root, volume }: Target) => ({
  path: root,
  kind,
  fileSystem: volume?.fileSystem ?? null,
  why: kind === 'folder' ? 'It is only a folder, not a volume of its own.' : (volume?.why ?? ''),
})

function say(
  options: Options,
  image: ReadyImage,
  target: Target,
  staged: Staged,
  warnings: readonly Problem[],
): Ending {
  const { path, cardPath, manifestPath, sha256, readBack, manifest, junk, eject } = staged
  for (const warning of warnings) process.stderr.write(`${sayProblem(warning)}\n`)
  const volume = onlyVolume(target)
  process.stdout.write(
    options.json
      ? `${JSON.stringify({ path, cardPath, manifestPath, sha256, bytes: image.payload.length, verified: true, readBack, volume, manifest, junk, eject, problems: warnings }, null, 2)}\n`
      : text(staged, image, target.kind === 'folder' ? '' : volume.why),
  )
  return EXIT.done
}

const READ_BACK: Readonly<Record<Staged['readBack'], string>> = {
  device: 'read back from the device itself',
  'perhaps cache':
    "read back, though perhaps from the computer's memory: this system or card does not let us past it",
}

function text(staged: Staged, image: ReadyImage, why: string): string {
  const version = image.card.version === 'unknown' ? 'version not known' : `version ${image.card.version}`
  return [
    `${image.name}: for ${image.card.typeId}, ${version}, ${image.payload.length} octets`,
    `is at ${staged.path}`,
    `SHA-256 ${staged.sha256}, ${READ_BACK[staged.readBack]}.`,
    ...(why === '' ? [] : [why]),
    ...(staged.junk.length > 0
      ? [`Left there by desktop systems, and of no use to the radio: ${staged.junk.join(', ')}`]
      : []),
    staged.eject,
    '',
  ].join('\n')
}

/** What the card did is an answer, exit 1; what the person gave is bad input, exit 2. */
function sayFailure(options: Options, image: ReadyImage, problems: readonly Problem[]): Ending {
  for (const problem of problems) process.stderr.write(`${sayProblem(problem)}\n`)
  if (options.json)
    process.stdout.write(
      `${JSON.stringify({ path: null, sha256: image.card.sha256, verified: false, problems }, null, 2)}\n`,
    )
  return problems.every(p => /^(stage\.|volume\.read-only)/.test(p.code)) ? EXIT.negative : EXIT.badInput
}
