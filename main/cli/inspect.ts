import { Command } from 'commander'
import { type ImageCard, readImageCard } from '../../shared/image/image-card.ts'
import { type InspectedImage, type InspectOptions, inspectImage } from '../../shared/image/inspect.ts'
import { isZip } from '../../shared/image/recognise.ts'
import { judgeSignature, readTrustedKeys, type TrustedKey } from '../../shared/image/signature.ts'
import { CARD_SUFFIX, readZip, type ZipEntry } from '../../shared/image/zip.ts'
import { MAX_ZIP_FILE_BYTES } from '../../shared/image/zip-directory.ts'
import { type Problem, sayProblem } from '../../shared/model/problem.ts'
import { FAMILY_OPTION, numberOption } from './choices.ts'
import { type Ending, EXIT } from './ending.ts'
import { cardBeside, fileNameOf, need, readInput } from './input.ts'
import { type About, reportOf, textOf, textOfOther } from './inspect-text.ts'

interface Options {
  readonly address?: string
  readonly family?: string
  readonly keys?: string
  readonly json?: boolean
}

const MAX_KEYS_FILE_BYTES = 1024 * 1024

const HELP = `
Reads Intel HEX, Motorola S-record, UF2 and raw images, recognised by their content, with the image card beside them
(FILE.card.json). Of a ZIP archive, every file in it is listed.

sha256 is that of the payload: all octets from the lowest to the highest address, gaps filled with FF; where that is
more than 8 MiB because pieces lie far apart, of the pieces one after the other, and a note says so.

Exit code: 0 the image is sound; 1 the image can be read but its card or its signature speaks against it, or some
files of an archive are images and others are damaged; 2 the file cannot be read, or there is no image in it.`

export function inspectCommand(end: (ending: Ending) => void): Command {
  return new Command('inspect')
    .description('Say what an image file holds, and whether it is intact.')
    .argument('<file>', 'an image file, or a ZIP archive with images in it')
    .option(
      '--address <n>',
      'where the first octet of a raw image belongs, such as 0x08004000; 0 unless given',
    )
    .option(...FAMILY_OPTION)
    .option('--keys <file>', 'the keys that you trust, a JSON list, to judge the signature by')
    .option('--json', 'print JSON')
    .addHelpText('after', HELP)
    .action(async (path: string, options: Options) => end(await run(path, options)))
}

async function run(path: string, options: Options): Promise<Ending> {
  const reading: InspectOptions = {
    rawAddress: numberOption('--address', options.address) ?? 0,
    familyId: numberOption('--family', options.family),
  }
  const keys = options.keys === undefined ? undefined : await trustedKeys(options.keys)
  const octets = await readInput(path, MAX_ZIP_FILE_BYTES)
  if (isZip(octets)) return inspectArchive(path, octets, reading, keys, options)
  const image = inspectImage(octets, path, reading)
  if (!image.ok) return sayUnreadable(path, octets.length, image.problems, options)
  const about = judge(fileNameOf(path), image.value, readBeside(path, await cardBeside(path)), keys)
  print(
    options,
    () => reportOf(about),
    () => textOf(about),
  )
  return about.against ? EXIT.negative : EXIT.done
}

async function trustedKeys(path: string): Promise<readonly TrustedKey[]> {
  const octets = await readInput(path, MAX_KEYS_FILE_BYTES)
  return need(readTrustedKeys(new TextDecoder().decode(octets), path))
}

interface CardFound {
  readonly card?: ImageCard
  readonly problems: readonly Problem[]
}

function readBeside(path: string, text: string | undefined): CardFound {
  if (text === undefined) return { problems: [] }
  const card = readImageCard(text, `${path}${CARD_SUFFIX}`)
  return card.ok ? { card: card.value, problems: [] } : { problems: card.problems }
}

function judge(
  name: string,
  image: InspectedImage,
  { card, problems: cardProblems }: CardFound,
  keys: readonly TrustedKey[] | undefined,
): About {
  const problems = [...image.problems, ...cardProblems]
  let against = cardProblems.length > 0
  if (card !== undefined && card.sha256 !== image.sha256) {
    against = true
    problems.push({
      code: 'card.other-digest',
      file: `${image.fileName}${CARD_SUFFIX}`,
      field: 'sha256',
      message: 'The image is not the one that its card describes: the digest differs.',
      expected: image.sha256,
      remedy: 'Get the image and its card again from where they came from.',
    })
  }
  const signature = card === undefined ? undefined : judgeSignature(card, image.sha256, keys ?? [])
  // Without keys nobody has asked whose the image is; a signature that is wrong can then not be told either.
  if (signature?.problem !== undefined && (keys !== undefined || signature.verdict === 'bad'))
    problems.push({ ...signature.problem, file: `${image.fileName}${CARD_SUFFIX}` })
  return { name, image, card, signature, problems, against: against || signature?.verdict === 'bad' }
}

function print(options: Options, report: () => unknown, text: () => string): void {
  process.stdout.write(options.json ? `${JSON.stringify(report(), null, 2)}\n` : text())
}

function sayUnreadable(
  path: string,
  fileBytes: number,
  problems: readonly Problem[],
  options: Options,
): Ending {
  for (const problem of problems) process.stderr.write(`${sayProblem(problem)}\n`)
  if (options.json)
    print(
      options,
      () => ({ file: path, format: null, bytes: null, fileBytes, segments: [], sha256: null, problems }),
      () => '',
    )
  return EXIT.badInput
}

type Listed =
  | { readonly name: string; readonly about: About }
  | { readonly name: string; readonly entry: ZipEntry }

function inspectArchive(
  path: string,
  octets: Uint8Array,
  reading: InspectOptions,
  keys: readonly TrustedKey[] | undefined,
  options: Options,
): Ending {
  const zip = readZip(octets, path, reading)
  if (!zip.ok) return sayUnreadable(path, octets.length, zip.problems, options)
  const listed: Listed[] = []
  for (const entry of zip.value) {
    const { name, image, card, problems } = entry
    if (image === undefined) listed.push({ name, entry })
    else {
      const ofCard = problems.filter(p => !image.problems.includes(p))
      listed.push({ name, about: judge(name, image, { card, problems: ofCard }, keys) })
    }
  }
  const images = listed.filter(l => 'about' in l)
  const report = listed.map(l =>
    'about' in l
      ? { name: l.name, kind: 'image', ...reportOf(l.about) }
      : { name: l.name, kind: l.entry.kind, problems: l.entry.problems },
  )
  print(
    options,
    () => ({ file: path, format: 'zip', fileBytes: octets.length, entries: report, problems: [] }),
    () => listed.map(l => ('about' in l ? textOf(l.about) : textOfOther(l.entry))).join(''),
  )
  if (images.length === 0) {
    process.stderr.write(`${path}: There is no image in this archive that can be read.\n`)
    return EXIT.badInput
  }
  const against = listed.some(l => ('about' in l ? l.about.against : isDamaged(l.entry)))
  return against ? EXIT.negative : EXIT.done
}

/** Text for people and files of desktop systems may lie in an archive; what should be an image may not be broken. */
const HARMLESS = /^(format\.(text|document)|zip\.junk)$/
const isDamaged = (entry: ZipEntry): boolean => entry.problems.some(p => !HARMLESS.test(p.code))
