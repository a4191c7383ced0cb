import { demoDefaults } from '../../shared/demo/bench.ts'
import type { Bench } from '../../shared/model/bench.ts'
import { idSchema, type Route, routeSchema, versionSchema } from '../../shared/model/units.ts'
import type { ImageChoice } from '../../shared/rehearse/report.ts'
import { bad, cardBeside, fileNameOf, MAX_IMAGE_FILE_BYTES, readInput } from './input.ts'

/** Choices that several commands take in the same words. */

/** @throws BadInput for anything but the routes there are; the demo's default where nothing is said */
export function routeOption(text: string | undefined): Route {
  const parsed = routeSchema.safeParse(text ?? demoDefaults.route)
  return parsed.success
    ? parsed.data
    : bad({
        code: 'cli.route',
        field: '--route',
        message: `There is no route "${text}".`,
        expected: 'cable or wireless',
      })
}

/** `type=ID,version=X`. @throws BadInput for anything else */
export function declaration(text: string): { typeId?: string; version?: string } {
  const declared: { typeId?: string; version?: string } = {}
  for (const part of text.split(',')) {
    const [key, ...rest] = part.split('=')
    const value = rest.join('=')
    if (key === 'type' && idSchema.safeParse(value).success) declared.typeId = value
    else if (key === 'version' && versionSchema.safeParse(value).success) declared.version = value
    else
      bad({
        code: 'cli.declare',
        field: '--declare',
        message: `"${part}" is not understood.`,
        expected: 'type=ID,version=X with a version such as 2.3.1',
      })
  }
  return declared
}

/** An image file with what is known of it: what was declared, or else the image card beside it. */
export async function imageFile(
  path: string,
  declare: string | undefined,
): Promise<Extract<ImageChoice, { kind: 'file' }>> {
  return {
    kind: 'file',
    fileName: fileNameOf(path),
    octets: await readInput(path, MAX_IMAGE_FILE_BYTES),
    cardText: declare === undefined ? await cardBeside(path) : undefined,
    declared: declare === undefined ? undefined : declaration(declare),
  }
}

/** The receiver taken where none is named: the demo's, or else the first. @throws BadInput on an empty bench */
export function defaultReceiver(bench: Bench): string {
  if (bench.receivers.some(r => r.id === demoDefaults.receiverId)) return demoDefaults.receiverId
  return (
    bench.receivers[0]?.id ??
    bad({
      code: 'bench.empty',
      field: 'receivers',
      message: 'There is no receiver on this bench.',
      remedy: 'Add one first.',
    })
  )
}

/**
 * The image named: one of the bench's by its id, or a file; where none is named, the newest that suits the receiver.
 * @throws BadInput
 */
export async function imageChoice(
  bench: Bench,
  receiverId: string,
  options: { readonly image?: string; readonly declare?: string },
): Promise<ImageChoice> {
  const { image } = options
  if (image === undefined) return { kind: 'bench', imageId: defaultImage(bench, receiverId) }
  if (bench.images.some(i => i.id === image)) return { kind: 'bench', imageId: image }
  return imageFile(image, options.declare)
}

/** The newest image on the bench for the receiver's type that converts nothing. */
function defaultImage(bench: Bench, receiverId: string): string {
  const unit = bench.receivers.find(r => r.id === receiverId)
  const best = bench.images
    .filter(i => i.typeId === unit?.typeId && i.convertsFrom === undefined)
    .sort((a, b) => b.sequenceNumber - a.sequenceNumber)[0]
  return (
    best?.id ??
    bench.images[0]?.id ??
    bad({
      code: 'cli.image',
      field: '--image',
      message: 'This bench has no image for the receiver.',
      remedy: 'Name one with --image FILE.',
    })
  )
}
