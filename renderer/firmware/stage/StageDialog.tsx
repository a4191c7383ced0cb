import { useRef } from 'react'
import { around, type Bench } from '../../../shared/model/bench.ts'
import type { ReceiverUnit } from '../../../shared/model/gear.ts'
import { Dialog } from '../../ui/Dialog.tsx'
import type { Listed } from '../listed.ts'
import { Choosing } from './Choosing.tsx'
import { Done } from './Done.tsx'
import { Failed } from './Failed.tsx'
import { Foot } from './Foot.tsx'
import { folderError } from './folder.ts'
import { Refused } from './Refused.tsx'
import { Running } from './Running.tsx'
import { missingFor, useAlike, useSettled, useWish } from './settled.ts'
import { type StagingPhase, usePlan, useStaging } from './use-staging.ts'
import { type CardClient, useVolumes } from './use-volumes.ts'
import { NO_PLACE, type PlaceChoice, placeOf } from './VolumeList.tsx'
import { firstChoice } from './volume-words.ts'
import './stage.css'

export interface StageDialogProps {
  readonly bench: Bench
  readonly receiver: ReceiverUnit
  readonly typeName: string
  readonly chosen: Listed
  readonly all: readonly Listed[]
  readonly client: CardClient
  /** The folder of the last staging, for radios without a card on the bench. */
  readonly lastFolder: string | undefined
  /** @param folder the one that was staged into */
  readonly onStaged: (folder: string) => void
  readonly onLookAtCard: (place: PlaceChoice, folder: string) => void
  readonly onClose: () => void
}

/** Puts the chosen image on a card and proves that it arrived. */
export function StageDialog(props: StageDialogProps) {
  const { chosen, dropOutside, set, settled, said } = useSettled(props)
  const desk = useVolumes(props.client)
  const { phase, start, stop, askAgain } = useStaging(props.client)
  const choice = settled.place ?? { ...NO_PLACE, volume: firstChoice(desk.volumes ?? []) }
  const place = placeOf(choice, desk.volumes)
  const fault = folderError(settled.folder)
  const wish = useWish(props, settled, place?.path, place?.folderOnly, fault === undefined)
  const seen = desk.volumes?.find(v => v.path === place?.path)
  const planned = usePlan(props.client, phase.is === 'asking' ? wish : undefined, String(seen?.freeBytes))
  const { radio } = around(props.bench, props.receiver.id)
  const cardName = (settled.cardName ?? planned.plan?.cardName ?? radio?.nickname ?? '').trim()
  const sent = useRef<Parameters<typeof start>[0]>(undefined)
  const go = async (request: Parameters<typeof start>[0]) => {
    sent.current = request
    if ((await start(request)) !== undefined) props.onStaged(request.folder)
  }
  const alike = useAlike(props)
  // What the machine says counts; until it has answered, the window's own ranking does.
  const cautions =
    planned.plan?.cautions ?? said.cautions.map(({ rule, sentence }) => ({ rule: rule.id, sentence }))
  const missing = missingFor({ place, fault, planned, settled, alike, cautions })
  const submit = () => {
    if (phase.is === 'failed' && sent.current) return void go(sent.current)
    if (phase.is !== 'asking' || wish === undefined || missing !== undefined) return
    const acknowledged = cautions.map(caution => caution.rule)
    void go({ ...wish, acknowledged, ...(cardName === '' ? {} : { cardName }) })
  }
  const close = () => phase.is !== 'running' && props.onClose()
  if (said.refused.length > 0)
    return <Refused chosen={chosen} findings={said.refused} onClose={props.onClose} />
  return (
    <Dialog
      title={titleOf(phase, chosen.name)}
      lead={phase.is === 'asking' ? `For ${props.receiver.nickname}.` : undefined}
      wide
      onClose={close}
      onSubmit={phase.is === 'asking' || phase.is === 'failed' ? submit : undefined}
      foot={
        <Foot
          phase={phase}
          missing={missing}
          onClose={props.onClose}
          onStop={stop}
          onBack={askAgain}
          onLook={() => props.onLookAtCard(choice, sent.current?.folder ?? '')}
        />
      }
    >
      {phase.is === 'asking' && (
        <Choosing
          {...props}
          {...{
            desk,
            choice,
            settled,
            set,
            planned,
            alike,
            said,
            cautions,
            cardName,
            fault,
            dropOutside,
            seen,
          }}
          radioName={radio?.nickname}
        />
      )}
      {phase.is === 'running' && <Running {...phase} />}
      {phase.is === 'done' && <Done staged={phase.staged} />}
      {phase.is === 'failed' && <Failed problems={phase.problems} isThere={place !== undefined} />}
    </Dialog>
  )
}

function titleOf(phase: StagingPhase, name: string): string {
  if (phase.is === 'asking') return `Put ${name} on the card`
  if (phase.is === 'running') return `Putting ${name} on the card`
  if (phase.is === 'failed') return `${name} is not on the card`
  return phase.staged.place.kind === 'folder' ? `${name} is in the folder` : `${name} is on the card`
}
