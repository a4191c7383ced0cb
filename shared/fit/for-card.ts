import type { Finding } from './rule.ts'

/**
 * What the rules say of putting an image on a card for a receiver, which is less than what they say of the update:
 * a flat battery or a module that is switched off can be put right with the image on the card already.
 */
export interface ForCard {
  /** A rule between image and receiver is broken, or nobody knows the image's type: it does not go on the card. */
  readonly refused: readonly Finding[]
  /** Something between image and receiver is not known, or speaks against it: only with a deed. */
  readonly cautions: readonly Finding[]
  /** Said, and no more: who has to tick the same box for every image ticks it unread. */
  readonly notes: readonly Finding[]
  /** Stands in the way of the update later on. */
  readonly later: readonly Finding[]
  /** How many rules between image and receiver hold. */
  readonly held: number
}

/** An image that wants another one first is of use later: staging it beside that one is a matter of planning. */
const FOR_LATER: readonly string[] = ['stepping-stone']
/** Most images come without a signature. A wrong one is another rule, and refused. */
const ONLY_SAID: readonly string[] = ['image-signed']

/** Rules between an image and a receiver are called `image-…`; all others look at radio, module and table. */
const isAboutImage = ({ rule }: Finding) => rule.id.startsWith('image-') || FOR_LATER.includes(rule.id)

const isRefused = ({ rule, holds }: Finding) =>
  rule.severity === 'block' &&
  !FOR_LATER.includes(rule.id) &&
  (holds === 'no' || (rule.id === 'image-type' && holds === 'unknown'))

const isOnlySaid = ({ rule }: Finding) => ONLY_SAID.includes(rule.id)

/** Sorts what does not hold by what it means for the card. */
export function forCard(findings: readonly Finding[]): ForCard {
  const open = findings.filter(f => f.holds !== 'yes')
  const own = open.filter(isAboutImage)
  return {
    refused: own.filter(isRefused),
    cautions: own.filter(f => !isRefused(f) && !isOnlySaid(f)),
    notes: own.filter(isOnlySaid),
    later: open.filter(f => !isAboutImage(f) && f.rule.severity === 'block' && f.holds === 'no'),
    held: findings.filter(f => isAboutImage(f) && f.holds === 'yes').length,
  }
}
