import { useRef, useState } from 'react'
import { withUnit } from '../../../shared/fit/rule.ts'
import { around, type Bench } from '../../../shared/model/bench.ts'
import type { ReceiverUnit } from '../../../shared/model/gear.ts'
import type { Listed } from '../listed.ts'
import { CheckDialog } from './CheckDialog.tsx'
import { StageDialog } from './StageDialog.tsx'
import type { CardClient } from './use-volumes.ts'
import type { PlaceChoice } from './VolumeList.tsx'

type Shown =
  | { readonly is: 'stage'; readonly chosen: Listed }
  | { readonly is: 'check'; readonly start?: { readonly place: PlaceChoice; readonly folder: string } }

/** What a bench file takes. */
const MOST_KEPT = 120

/** Which of the two dialogs about cards is open. */
export function useCardDialogs() {
  const [shown, setShown] = useState<Shown>()
  return {
    shown,
    show: setShown,
    stage: (chosen: Listed) => setShown({ is: 'stage', chosen }),
    check: () => setShown({ is: 'check' }),
  }
}

interface CardDialogsProps extends ReturnType<typeof useCardDialogs> {
  readonly bench: Bench
  readonly receiver: ReceiverUnit
  readonly typeName: string
  readonly all: readonly Listed[]
  readonly client: CardClient
  readonly onChangeBench: (label: string, next: Bench) => void
}

/** Putting an image on a card, and looking at what is on one. */
export function CardDialogs({ shown, show, onChangeBench, ...rest }: CardDialogsProps) {
  const { bench, receiver } = rest
  const lastFolder = useRef<string>(undefined)
  const close = () => show(undefined)
  if (shown?.is === 'check')
    return (
      <CheckDialog
        bench={bench}
        receiverId={receiver.id}
        client={rest.client}
        start={shown.start}
        onClose={close}
      />
    )
  if (shown?.is !== 'stage') return null
  return (
    <StageDialog
      {...rest}
      chosen={shown.chosen}
      lastFolder={lastFolder.current}
      onStaged={folder => {
        lastFolder.current = folder
        const { card } = around(bench, receiver.id)
        if (card !== undefined && card.folder !== folder && folder.length <= MOST_KEPT)
          onChangeBench(
            `Keep “${folder}” as the folder of ${card.nickname}`,
            withUnit(bench, 'cards', card.id, { folder }),
          )
      }}
      onLookAtCard={(place, folder) => show({ is: 'check', start: { place, folder } })}
      onClose={close}
    />
  )
}
