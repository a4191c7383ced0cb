/**
 * Which of some files are images, and which image card belongs to which of them, by their names. A name may have
 * folders before it: image and card then lie in the same folder.
 */

export interface Named {
  readonly name: string
}

export interface Paired<F extends Named> {
  readonly images: readonly { readonly file: F; readonly card?: F }[]
  /** Image cards that belong to no image, or to more than one, with a sentence that says what to do. */
  readonly strays: readonly { readonly file: F; readonly why: string; readonly hasImage: boolean }[]
}

export const isCardName = (name: string): boolean => /\.json$/i.test(name)

/** What an image card is called after: `wren.hex.card.json` and `wren.hex.json` after `wren.hex`. */
const calledAfter = (cardName: string): string => cardName.replace(/(\.card)?\.json$/i, '').toLowerCase()
const withoutEnding = (name: string): string => name.replace(/\.[^./]*$/, '').toLowerCase()

/** A card that carries the image's whole name goes before one that leaves the ending out. */
export function pairFiles<F extends Named>(files: readonly F[]): Paired<F> {
  const images = files.filter(file => !isCardName(file.name))
  const cardOf = new Map<F, F>()
  const strays: { file: F; why: string; hasImage: boolean }[] = []
  for (const card of files.filter(file => isCardName(file.name))) {
    const called = calledAfter(card.name)
    const exact = images.filter(image => image.name.toLowerCase() === called)
    const meant = exact.length > 0 ? exact : images.filter(image => withoutEnding(image.name) === called)
    if (meant.length === 1 && !cardOf.has(meant[0])) cardOf.set(meant[0], card)
    else
      strays.push({
        file: card,
        why: strayWords(meant.map(image => image.name)),
        hasImage: meant.length > 0,
      })
  }
  return {
    images: images.map(file => {
      const card = cardOf.get(file)
      return card === undefined ? { file } : { file, card }
    }),
    strays,
  }
}

function strayWords(meant: readonly string[]): string {
  if (meant.length === 0)
    return 'This looks like an image card, and no image of its name came with it. Choose both together.'
  if (meant.length === 1) return `There is another image card for ${meant[0]}. Choose one of the two.`
  return `This image card could belong to ${meant.join(' or ')}. Call it ${meant[0]}.card.json, say, and choose them again.`
}
