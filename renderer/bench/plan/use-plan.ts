import { useMemo, useState } from 'react'
import type { Bench } from '../../../shared/model/bench.ts'
import type { Route } from '../../../shared/model/units.ts'
import type { ImageChoice, RehearsalRequest } from '../../../shared/rehearse/report.ts'
import { planKey } from '../../../shared/runbook/plan-key.ts'
import {
  freshSettings,
  imageChoice,
  keepSettings,
  recallSettings,
  type Settings,
} from '../../rehearse/setup/settings.ts'
import type { Shown } from '../../rehearse/use-rehearsal.ts'

/** What is to be done: this image, into this receiver, by this route; nothing is chosen where no image is known. */
export interface PlanDesk {
  readonly image: ImageChoice | undefined
  readonly route: Route
  readonly request: RehearsalRequest | undefined
  /** The rehearsal of this very plan, without faults, however it ended. */
  readonly rehearsed: Shown | undefined
  /** There is a rehearsal of this receiver, but not of this plan. */
  readonly isOutdated: boolean
  /** The same as the set-up of a rehearsal. */
  readonly settings: Settings
  /** Leaves the Rehearse view set up for the same. */
  readonly remember: () => void
  readonly choose: (change: Partial<Pick<PlanDesk, 'image' | 'route'>>) => void
}

type Chosen = Pick<PlanDesk, 'image' | 'route'>

/** The plan of the last rehearsal of this receiver, or what is set in the Rehearse view; until something is chosen here. */
export function usePlan(
  bench: Bench,
  receiverId: string,
  shown: Shown | undefined,
  memory: Pick<Storage, 'getItem' | 'setItem'>,
): PlanDesk {
  const [chosen, setChosen] = useState<Chosen>()
  const from = shown?.request.receiverId === receiverId ? shown.request : undefined
  const { image, route, dropOutside } = useMemo(() => {
    const before = chosen ?? from ?? setUp(bench, receiverId, memory)
    return { ...before, dropOutside: from?.dropOutside ?? false }
  }, [chosen, from, bench, receiverId, memory])
  const isThere =
    image !== undefined && (image.kind !== 'bench' || bench.images.some(i => i.id === image.imageId))
  const request = useMemo<RehearsalRequest | undefined>(
    () => (isThere ? { bench, receiverId, image, route, seed: 1, faults: [], dropOutside } : undefined),
    [isThere, bench, receiverId, image, route, dropOutside],
  )
  const rehearsed = useMemo(
    () => (request && shown && isOf(shown.request, request) ? shown : undefined),
    [request, shown],
  )
  const settings = settingsOf(image, route, dropOutside)
  return {
    image: isThere ? image : undefined,
    route,
    request,
    rehearsed,
    isOutdated: rehearsed === undefined && from !== undefined,
    settings,
    remember: () => {
      const { imageId, libraryId } = settings
      keepSettings(memory, { ...recallSettings(memory), route, imageId, libraryId })
    },
    choose: change => setChosen({ image, route, ...change }),
  }
}

function setUp(bench: Bench, receiverId: string, memory: Pick<Storage, 'getItem' | 'setItem'>): Chosen {
  const settings = recallSettings(memory)
  const choice = imageChoice(bench, receiverId, settings)
  const typeId = bench.receivers.find(r => r.id === receiverId)?.typeId
  const isOwn = choice?.kind !== 'bench' || bench.images.find(i => i.id === choice.imageId)?.typeId === typeId
  const image = isOwn ? choice : imageChoice(bench, receiverId, freshSettings)
  return { image, route: settings.route }
}

const isOf = (done: RehearsalRequest, asked: RehearsalRequest): boolean =>
  done.faults.length === 0 && planKey(done) === planKey(asked)

function settingsOf(image: ImageChoice | undefined, route: Route, dropOutside: boolean): Settings {
  const settings = { ...freshSettings, route, dropOutside }
  if (image?.kind === 'bench') return { ...settings, imageId: image.imageId }
  if (image?.kind === 'library') return { ...settings, libraryId: image.id }
  if (image === undefined) return settings
  const { fileName, octets, cardText, declared } = image
  return {
    ...settings,
    file: { fileName, octets, cardText },
    declaredTypeId: declared?.typeId,
    declaredVersion: declared?.version ?? '',
  }
}
