import { useEffect, useState } from 'react'
import { buildImage } from '../../shared/image/build.ts'
import type { Bench, BuiltImage } from '../../shared/model/bench.ts'
import type { ReceiverType } from '../../shared/model/catalogue.ts'
import type { Source } from './listed.ts'

/** SHA-256 of images that the bench builds itself. Building takes a moment, so each is built once, and only if seen. */

const known = new WeakMap<BuiltImage, { readonly type: ReceiverType; readonly sha256: string }>()

function cached(image: BuiltImage, type: ReceiverType): string | undefined {
  const found = known.get(image)
  return found?.type === type ? found.sha256 : undefined
}

function typeOf(bench: Bench, image: BuiltImage): ReceiverType | undefined {
  return bench.catalogue.receiverTypes.find(type => type.id === image.typeId)
}

/** @returns undefined where the bench cannot build the image */
export function digestOf(source: Source, bench: Bench): string | undefined {
  const { built } = source
  if (built === undefined) return source.sha256
  const type = typeOf(bench, built)
  if (type === undefined) return undefined
  const before = cached(built, type)
  if (before !== undefined) return before
  try {
    const { card } = buildImage({
      ...built,
      typeName: type.name,
      vendorName: type.maker,
      programAddress: type.flash.programAddress,
    })
    known.set(built, { type, sha256: card.sha256 })
    return card.sha256
  } catch {
    // An image that its own specification does not allow: the rehearsal says what is wrong with it.
    return undefined
  }
}

/** The digest for a card of the list: at once where it is known, else a moment later, so that scrolling never waits. */
export function useDigest(source: Source, bench: Bench): string | undefined {
  const type = source.built && typeOf(bench, source.built)
  const atOnce = source.built ? type && cached(source.built, type) : source.sha256
  const [, setTold] = useState(0)
  useEffect(() => {
    if (atOnce !== undefined || type === undefined) return
    const timer = setTimeout(() => {
      if (digestOf(source, bench) !== undefined) setTold(n => n + 1)
    }, 60)
    return () => clearTimeout(timer)
  }, [atOnce, type, source, bench])
  return atOnce
}
