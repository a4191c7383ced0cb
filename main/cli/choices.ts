import { demoDefaults } from '../../shared/demo/bench.ts'
import { recogniseFormat } from '../../shared/image/recognise.ts'
import { sayFamily } from '../../shared/image/uf2.ts'
import { uf2Families, uf2FamilyPart } from '../../shared/image/uf2-families.ts'
import type { Bench } from '../../shared/model/bench.ts'
import { idSchema, type Route, routeSchema, versionSchema } from '../../shared/model/units.ts'
import type { FaultChoice, ImageChoice } from '../../shared/rehearse/report.ts'
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
        expected: 'type=ID,version=X with a version such as 2.3.1: three numbers without leading zeros',
      })
  }
  return declared
}

/** A whole number of 32 bits, in decimal or with 0x. @throws BadInput */
export function numberOption(field: string, text: string | undefined): number | undefined {
  if (text === undefined) return undefined
  const value = /^(0x[0-9a-f]{1,8}|\d{1,10})$/i.test(text) ? Number(text) : Number.NaN
  return value < 2 ** 32
    ? value
    : bad({
        code: 'cli.number',
        field,
        message: `"${text}" is not understood.`,
        expected: 'a whole number from 0 to 0xFFFFFFFF, such as 0x08004000',
      })
}

/** For options that may be given several times. */
export const gather = (value: string, previous: readonly string[]) => [...previous, value]

/** A seed of the dice. @throws BadInput */
export function seedOption(text: string): number {
  const value = Number(text)
  return /^\d+$/.test(text) && value <= 0xffff_ffff
    ? value
    : bad({
        code: 'cli.seed',
        field: '--seed',
        message: `"${text}" is not a seed.`,
        expected: 'a whole number from 0 to 4294967295',
      })
}

/** `NAME` or `NAME=VALUE`. */
export function faultChoice(text: string): FaultChoice {
  const at = text.indexOf('=')
  return at < 0 ? { name: text } : { name: text.slice(0, at), value: text.slice(at + 1) }
}

export const FAMILY_OPTION = [
  '--family <n>',
  'which image to take from a UF2 file for several families, such as 0x5EE21072',
] as const

export interface FileOptions {
  readonly declare?: string
  readonly family?: string
}

/**
 * An image file with what is known of it: what was declared, or else the image card beside it. Of a UF2 file for
 * several families only the blocks of the one that is named.
 * @throws BadInput
 */
export async function imageFile(
  path: string,
  { declare, family }: FileOptions,
): Promise<Extract<ImageChoice, { kind: 'file' }>> {
  const octets = await readInput(path, MAX_IMAGE_FILE_BYTES)
  return {
    kind: 'file',
    fileName: fileNameOf(path),
    octets: ofFamily(path, octets, numberOption('--family', family)),
    cardText: declare === undefined ? await cardBeside(path) : undefined,
    declared: declare === undefined ? undefined : declaration(declare),
  }
}

/** A file that is no UF2, or holds nothing that can be read, goes on as it is: its reader says what is wrong. */
function ofFamily(path: string, octets: Uint8Array, wanted: number | undefined): Uint8Array {
  const format = recogniseFormat(octets, path)
  const families = format.ok && format.value === 'uf2' ? uf2Families(octets) : []
  if (families.length === 0 || (wanted === undefined && families.length === 1)) return octets
  const list = families.map(family => sayFamily(family ?? undefined)).join(', ')
  if (wanted === undefined)
    return bad({
      code: 'uf2.families',
      file: path,
      field: '--family',
      message: `The file holds images for ${families.length} families of controllers: ${list}.`,
      expected: 'one family',
      remedy: 'Say with --family which one the receiver’s controller belongs to.',
    })
  if (families.includes(wanted)) return uf2FamilyPart(octets, wanted)
  return bad({
    code: 'uf2.family',
    file: path,
    field: '--family',
    message: `There is no image for the family ${sayFamily(wanted)} in this file.`,
    expected: list,
    remedy: 'Choose one of these families, or another file.',
  })
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
  options: FileOptions & { readonly image?: string },
): Promise<ImageChoice> {
  const { image } = options
  if (image === undefined) return { kind: 'bench', imageId: defaultImage(bench, receiverId) }
  if (bench.images.some(i => i.id === image)) return { kind: 'bench', imageId: image }
  return imageFile(image, options)
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
