import { imageRule } from './image-rule.ts'
import { broken, evidence, holds, type Rule, takeOtherImage } from './rule.ts'

/** Rules about the signature of the maker. They apply where somebody has looked: a receiver on the bench has not. */

const signatureWords = {
  good: 'right, by a key that you trust',
  bad: 'wrong',
  missing: 'there is none',
  'unknown-key': 'by a key that is not among your trusted ones',
} as const
const nobody = 'nobody has looked'

const imageSignature = imageRule({
  id: 'image-signature',
  claim: 'The signature on the image card is not a wrong one.',
  source: 'RFC 8032, section 5.1.7; RFC 9124, signature',
  severity: 'block',
  enforcedBy: 'computer',
  looksAt: ['signature'],
  applies: s => s.image.signature === 'good' || s.image.signature === 'bad',
  check: s => {
    const shown = [evidence('Signature', signatureWords[s.image.signature ?? 'missing'])]
    return s.image.signature === 'bad'
      ? broken(
          'The signature is wrong: the image or its card was changed, or somebody else made them. Do not use this image.',
          shown,
          [takeOtherImage('Get the image again from its maker.')],
        )
      : holds('The signature is right: image and card are as the holder of the key made them.', shown)
  },
})

const imageSigned = imageRule({
  id: 'image-signed',
  claim: 'A key that you trust vouches for the image.',
  source: 'RFC 8032; RFC 9124, signature',
  severity: 'warn',
  enforcedBy: 'computer',
  looksAt: ['signature'],
  applies: s => s.image.signature !== undefined && s.image.signature !== 'bad',
  check: s => {
    const { signature } = s.image
    const shown = [evidence('Signature', signature === undefined ? nobody : signatureWords[signature])]
    if (signature === 'good') return holds('A key that you trust vouches for image and card.', shown)
    return signature === 'unknown-key'
      ? broken(
          'The image card is signed, but with a key that is not among your trusted ones, so it proves nothing yet.',
          shown,
          [
            takeOtherImage(
              'Get the key from its maker by a way that you trust and add it to your trusted keys, or take a signed image.',
            ),
          ],
        )
      : broken('The image is not signed: nothing proves that it comes from its maker.', shown, [
          takeOtherImage(
            'Take a signed image where there is one; else compare the digest with the one that the maker publishes.',
          ),
        ])
  },
})

export const signatureRules: readonly Rule[] = [imageSignature, imageSigned]
