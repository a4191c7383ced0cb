import { useState } from 'react'
import type { CardCheckReply } from '../../../shared/api/card.ts'
import { around, type Bench } from '../../../shared/model/bench.ts'
import type { Problem } from '../../../shared/model/problem.ts'
import { Button } from '../../ui/Button.tsx'
import { Dialog } from '../../ui/Dialog.tsx'
import { TextField } from '../../ui/Field.tsx'
import { ProblemList, problemsOf } from '../../ui/Notice.tsx'
import { CheckResult } from './CheckResult.tsx'
import { folderError, trimFolder } from './folder.ts'
import { type CardClient, useVolumes } from './use-volumes.ts'
import { NO_PLACE, type PlaceChoice, placeOf, VolumeList } from './VolumeList.tsx'
import { firstChoice } from './volume-words.ts'
import './stage.css'

interface CheckDialogProps {
  readonly bench: Bench
  readonly receiverId: string
  readonly client: CardClient
  /** Where something was staged a moment ago. */
  readonly start?: { readonly place: PlaceChoice; readonly folder: string }
  readonly onClose: () => void
}

interface Looked {
  readonly reply?: CardCheckReply
  readonly problems: readonly Problem[]
}

/** Looks at a staged card again, and changes nothing on it. */
export function CheckDialog({ bench, receiverId, client, start, onClose }: CheckDialogProps) {
  const desk = useVolumes(client)
  const [chosen, setChosen] = useState<PlaceChoice | undefined>(start?.place)
  const [folder, setFolder] = useState(start?.folder ?? around(bench, receiverId).card?.folder ?? 'IMAGES')
  const [looked, setLooked] = useState<Looked>()
  const [isLooking, setLooking] = useState(false)
  const choice = chosen ?? { ...NO_PLACE, volume: firstChoice(desk.volumes ?? []) }
  const place = placeOf(choice, desk.volumes, 'read')
  const fault = folderError(folder)
  const look = async () => {
    if (place === undefined || fault !== undefined || isLooking) return
    setLooking(true)
    try {
      const reply = await client.call('card.check', { bench, place, folder: trimFolder(folder) })
      setLooked({ reply, problems: [] })
    } catch (error) {
      setLooked({ problems: problemsOf(error) })
    }
    setLooking(false)
  }
  const forget = () => setLooked(undefined)
  return (
    <Dialog
      title="What is on the card?"
      lead="Every image that was staged from here is read and compared with what was staged. Nothing is changed."
      wide
      onClose={onClose}
      onSubmit={() => void look()}
      foot={
        <>
          <p className="ui-spring fw-soft" role="status">
            {isLooking ? 'Reading the card…' : place === undefined ? 'Choose a card.' : undefined}
          </p>
          <Button kind="quiet" onClick={onClose}>
            Close
          </Button>
          <Button
            kind="primary"
            type="submit"
            disabled={place === undefined || fault !== undefined || isLooking}
          >
            {looked === undefined ? 'Look at it' : 'Look again'}
          </Button>
        </>
      }
    >
      <div className="st-asking">
        <section aria-label="Which card">
          <VolumeList
            desk={desk}
            choice={choice}
            purpose="read"
            onChoose={next => {
              setChosen(next)
              forget()
            }}
          />
        </section>
        <TextField
          label="Folder on it"
          value={folder}
          error={fault}
          onChange={next => {
            setFolder(next)
            forget()
          }}
        />
        {looked !== undefined && looked.problems.length > 0 && <ProblemList problems={looked.problems} />}
        {looked?.reply && <CheckResult bench={bench} reply={looked.reply} />}
      </div>
    </Dialog>
  )
}
