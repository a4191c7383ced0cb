import type { Bench } from '../../shared/model/bench.ts'
import { isKnown } from '../../shared/model/units.ts'
import { type CardCheck, checkCard } from '../card/check.ts'
import type { Target } from '../card/target.ts'
import { type Ending, EXIT } from './ending.ts'
import { need } from './input.ts'

/** `stage --check`: what is on a card, for which receivers, and what of it is stale or damaged. */

/** @throws BadInput where there is nothing to check */
export async function checkStaged(
  bench: Bench,
  target: Target,
  folder: string,
  json: boolean,
): Promise<Ending> {
  const check = need(await checkCard(target, folder, bench))
  process.stdout.write(json ? `${JSON.stringify(asJson(check), null, 2)}\n` : asText(check))
  const fine = check.images.every(i => i.state === 'intact' && i.stale === undefined)
  return fine && check.leftOver.length === 0 ? EXIT.done : EXIT.negative
}

const asJson = ({ manifest, images, unlisted, leftOver, junk, readBack }: CardCheck) => ({
  card: manifest.cardName ?? null,
  written: manifest.written,
  images: images.map(({ image, state, text, receivers, stale }) => ({
    ...{ name: image.name, typeId: image.typeId, version: image.version, sha256: image.sha256 },
    ...{ staged: image.staged, state, text, receivers, stale: stale ?? null },
  })),
  ...{ unlisted, leftOver, junk, readBack },
})

function asText({ manifest, images, unlisted, leftOver, junk }: CardCheck): string {
  const list = (what: string, names: readonly string[]) =>
    names.length > 0 ? [`${what}: ${names.join(', ')}`] : []
  return [
    `${manifest.cardName ?? 'This card'}, last staged ${manifest.written}`,
    ...images.flatMap(({ image, state, text, receivers, stale }) => [
      `${state.toUpperCase().padEnd(10)}  ${image.name}  ${image.typeId} ${isKnown(image.version) ? image.version : 'version not known'}, for ${receivers.join(', ') || 'no receiver here'}`,
      ...(state === 'intact' ? [] : [`            ${text}`]),
      ...(stale ? [`            ${stale.text}`] : []),
    ]),
    ...list('Left by a staging that was interrupted', leftOver),
    ...list('Not staged from here', unlisted),
    ...list('Left by desktop systems', junk),
    '',
  ].join('\n')
}
