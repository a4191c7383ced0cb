import { useMemo, useState } from 'react'
import type { Caution, Place } from '../../../shared/api/card.ts'
import { forCard } from '../../../shared/fit/for-card.ts'
import { around } from '../../../shared/model/bench.ts'
import type { Problem } from '../../../shared/model/problem.ts'
import { digestOf } from '../digests.ts'
import type { Listed } from '../listed.ts'
import { lookAlikes } from '../look-alike.ts'
import { type Deed, deedFor, isDone } from './deed.ts'
import { trimFolder } from './folder.ts'
import type { StageDialogProps } from './StageDialog.tsx'
import type { Planned, PlanWish } from './use-staging.ts'
import type { PlaceChoice } from './VolumeList.tsx'

/** What a person has settled so far. */
export interface Settled {
  readonly place: PlaceChoice | undefined
  readonly folder: string
  /** Undefined until it was touched: then the card keeps its name, or is called after the radio. */
  readonly cardName: string | undefined
  readonly dropOutside: boolean
  readonly typedWord: string
  readonly accepted: boolean
}

export function useSettled({ bench, receiver, chosen, lastFolder }: StageDialogProps) {
  const { card } = around(bench, receiver.id)
  const [settled, setSettled] = useState<Settled>({
    place: undefined,
    folder: card?.folder ?? lastFolder ?? 'IMAGES',
    cardName: undefined,
    dropOutside: false,
    typedWord: '',
    accepted: false,
  })
  const set = (change: Partial<Settled>) => setSettled(before => ({ ...before, ...change }))
  // What lies outside program flash can be left out by a deed; every other rule stays as it is.
  const canDrop = chosen.facts.outsideBytes > 0
  const said = useMemo(() => {
    const findings = chosen.ranked.findings.filter(f => !(canDrop && f.rule.id === 'image-place'))
    return forCard(findings)
  }, [chosen, canDrop])
  return { chosen, settled, set, said, dropOutside: canDrop }
}

export function useWish(
  { bench, receiver, chosen }: StageDialogProps,
  { folder, dropOutside }: Settled,
  path: string | undefined,
  folderOnly: boolean | undefined,
  isGood: boolean,
): PlanWish | undefined {
  return useMemo(() => {
    if (path === undefined || folderOnly === undefined || !isGood) return undefined
    const place = { path, folderOnly }
    return {
      ...{ bench, receiverId: receiver.id, image: chosen.choice, place },
      ...{ folder: trimFolder(folder), dropOutside },
    }
  }, [bench, receiver.id, chosen.choice, path, folderOnly, folder, dropOutside, isGood])
}

export interface Alike {
  readonly images: readonly Listed[]
  /** What has to be typed where there is something that could be taken for the image. */
  readonly deed: Deed | undefined
}

export function useAlike({ bench, chosen, all }: StageDialogProps): Alike {
  return useMemo(() => {
    const images = lookAlikes(chosen, all, one => digestOf(one, bench))
    const digest = digestOf(chosen, bench)
    const others = images.map(one => digestOf(one, bench))
    return { images, deed: images.length > 0 && digest !== undefined ? deedFor(digest, others) : undefined }
  }, [bench, chosen, all])
}

/** What still stands between the person and the card. */
export interface Missing {
  readonly text: string
  /** Where it is put right, by the mark `data-need` of that place. */
  readonly need?: 'place' | 'folder' | 'read' | 'word'
}

interface Needed {
  readonly place: Place | undefined
  readonly fault: string | undefined
  readonly planned: Planned
  readonly settled: Settled
  readonly alike: Alike
  readonly cautions: readonly Caution[]
}

const isOfPlace = ({ code }: Problem) => /^(volume|stage)\./.test(code)

/** One thing at a time, from the top of the dialog. */
export function missingFor({ place, fault, planned, settled, alike, cautions }: Needed): Missing | undefined {
  if (place === undefined) return { text: 'Choose where it goes.', need: 'place' }
  if (fault !== undefined) return { text: 'The folder needs another name.', need: 'folder' }
  if (planned.problems.length > 0)
    return { text: 'It cannot go there as it is.', need: isOfPlace(planned.problems[0]) ? 'place' : 'folder' }
  if (planned.plan === undefined) return { text: 'Looking at the card…' }
  if (cautions.length > 0 && !settled.accepted)
    return { text: 'Say that you have read what speaks against it.', need: 'read' }
  if (!isDone(alike.deed, settled.typedWord))
    return { text: 'Type the digest word of this image.', need: 'word' }
  return undefined
}
