import type { ChosenFile } from './settings.ts'

/** Larger files are not read at all; the readers of the formats have limits of their own below this. */
export const MAX_FILE_BYTES = 16 * 1024 * 1024
const MAX_CARD_BYTES = 200_000

/** The part of the browser's File that is used. */
export interface FileLike {
  readonly name: string
  readonly size: number
  arrayBuffer(): Promise<ArrayBuffer>
  text(): Promise<string>
}

const isCard = (file: FileLike): boolean => /\.json$/i.test(file.name)

/** A bench file is the window's business, not this view's. */
export const isBenchFile = (file: Pick<FileLike, 'name'>): boolean =>
  /\.json$/i.test(file.name) && !/\.card\.json$/i.test(file.name)

/**
 * What was chosen or dropped: one image, and its image card when that came along.
 * @returns a sentence for the person when it cannot be taken
 */
export async function readChosen(files: readonly FileLike[]): Promise<ChosenFile | string> {
  const images = files.filter(file => !isCard(file))
  const cards = files.filter(isCard)
  if (images.length === 0 && cards.length > 0)
    return `${cards[0].name} is an image card, not an image. Choose the image with it.`
  if (images.length === 0) return 'There was no file in it. Drop an Intel HEX or a raw binary file.'
  if (images.length > 1 || cards.length > 1)
    return 'Choose one image at a time, with its image card if it has one.'
  const [image] = images
  if (image.size === 0) return `${image.name} is empty.`
  if (image.size > MAX_FILE_BYTES)
    return `${image.name} has ${Math.round(image.size / 1048576)} MiB; no receiver image is larger than 16 MiB.`
  if (cards[0] !== undefined && cards[0].size > MAX_CARD_BYTES)
    return `${cards[0].name} is too large for an image card.`
  try {
    const octets = new Uint8Array(await image.arrayBuffer())
    const cardText = await cards[0]?.text()
    return { fileName: image.name, octets, ...(cardText === undefined ? {} : { cardText }) }
  } catch {
    return `${image.name} could not be read. Is it still there, and may you open it?`
  }
}
