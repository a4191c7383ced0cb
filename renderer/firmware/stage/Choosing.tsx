import type { Caution, ListedVolume, StagePlanned } from '../../../shared/api/card.ts'
import type { ForCard } from '../../../shared/fit/for-card.ts'
import { digestWords } from '../../../shared/image/digest.ts'
import { around, findType } from '../../../shared/model/bench.ts'
import { CheckField, TextField } from '../../ui/Field.tsx'
import { ProblemList } from '../../ui/Notice.tsx'
import { StatusMark } from '../../ui/StatusMark.tsx'
import { Comparison } from '../Comparison.tsx'
import { digestOf } from '../digests.ts'
import { placeWord } from './deed.ts'
import type { StageDialogProps } from './StageDialog.tsx'
import { Storage } from './Storage.tsx'
import type { Alike, Settled } from './settled.ts'
import { storageWords } from './storage-words.ts'
import type { Planned } from './use-staging.ts'
import type { VolumesDesk } from './use-volumes.ts'
import { type PlaceChoice, VolumeList } from './VolumeList.tsx'
import { sizeWord } from './volume-words.ts'

interface ChoosingProps extends StageDialogProps {
  readonly desk: VolumesDesk
  readonly choice: PlaceChoice
  readonly settled: Settled
  readonly set: (change: Partial<Settled>) => void
  readonly planned: Planned
  readonly alike: Alike
  readonly said: ForCard
  readonly cautions: readonly Caution[]
  readonly cardName: string
  readonly radioName: string | undefined
  readonly fault: string | undefined
  /** Part of it lies outside program flash. */
  readonly dropOutside: boolean
  /** The chosen volume, as the system lists it. */
  readonly seen: ListedVolume | undefined
}

/** Where to, under which names, and is it the right one. */
export function Choosing(props: ChoosingProps) {
  const { bench, receiver, desk, choice, set } = props
  return (
    <div className="st-asking">
      <section aria-label="Where to">
        <h3>Where to</h3>
        <Storage words={storageWords(bench, receiver.id)} />
        <div data-need="place">
          <VolumeList desk={desk} choice={choice} onChoose={place => set({ place })} />
        </div>
      </section>
      <section aria-label="Names on the card">
        <h3>Names on the card</h3>
        <Names {...props} />
        <PlanWords {...props} />
      </section>
      <Comparison {...props} alike={props.alike.images} />
      <Deeds {...props} />
      <Later {...props} />
    </div>
  )
}

function Names({ settled, set, fault, cardName, radioName, planned, seen }: ChoosingProps) {
  const now = planned.plan?.cardName
  const isAnothers = now !== undefined && radioName !== undefined && now !== radioName
  const desktop = seen?.label === undefined ? '' : ` (${seen.label})`
  return (
    <div className="st-names">
      <div data-need="folder">
        <TextField
          label="Folder"
          value={settled.folder}
          error={fault}
          hint="None for the top of the card; folders in folders with a stroke, A/B."
          onChange={folder => set({ folder })}
        />
      </div>
      <TextField
        label="Name of the card"
        optional
        value={settled.cardName ?? cardName}
        hint={
          isAnothers
            ? `Its list calls it ${now} now; this receiver belongs to ${radioName}. Is it the right card?`
            : `Stands in the list on the card. What the desktop calls it${desktop} can only be changed there.`
        }
        onChange={name => set({ cardName: name.slice(0, 80) })}
      />
    </div>
  )
}

/** What is about to be written, and whether there is room for it. */
function PlanWords({ bench, receiver, planned, settled, set, dropOutside, chosen }: ChoosingProps) {
  const { plan, problems } = planned
  const { radio } = around(bench, receiver.id)
  const takesCard = findType(bench.catalogue, 'radioTypes', radio?.typeId ?? '')?.storage.card ?? true
  const outside = dropOutside && (
    <CheckField
      label={`Leave out the ${chosen.facts.outsideBytes.toLocaleString('en')} octets that lie outside program flash`}
      hint="Only if its maker says that they are not needed."
      value={settled.dropOutside}
      onChange={next => set({ dropOutside: next })}
    />
  )
  return (
    <div className="st-plan" aria-busy={planned.pending}>
      {outside}
      {problems.length > 0 && <ProblemList problems={problems} />}
      {plan !== undefined && (
        <>
          <ul>
            {plan.files.map(file => (
              <li key={file.name}>
                <code>{plan.folder === '' ? file.name : `${plan.folder}/${file.name}`}</code>{' '}
                <span className="fw-soft">
                  {file.bytes.toLocaleString('en')} octets
                  {file.replaces ? ', in place of the one that is there' : ''}
                </span>
              </li>
            ))}
          </ul>
          <p className="fw-soft">
            {sizeWord(plan.needBytes)} in clusters of {sizeWord(plan.clusterBytes)};{' '}
            {sizeWord(plan.freeBytes)} are free.
            {plan.others.length > 0 && ` Staged there before: ${plan.others.join(', ')}.`}
            {plan.place.kind === 'folder' && ' This is only a folder, not a card.'}
            {plan.place.kind === 'radio-internal' &&
              takesCard &&
              ' This is rather the own storage of a radio than its card.'}
          </p>
          <Filled {...{ bench, chosen, plan }} />
        </>
      )}
    </div>
  )
}

/** What lies on the card is the image as the receiver takes it, which need not be the file octet for octet. */
function Filled({
  bench,
  chosen,
  plan,
}: Pick<StageDialogProps, 'bench' | 'chosen'> & { plan: StagePlanned }) {
  if (digestOf(chosen, bench) === plan.sha256) return null
  return (
    <p className="fw-soft">
      On the card it begins at the start of program flash, gaps filled up
      {plan.droppedOutsideBytes > 0 && `, ${plan.droppedOutsideBytes.toLocaleString('en')} octets left out`};
      there its digest words are <code>{digestWords(plan.sha256)}</code>.
    </p>
  )
}

/** What has to be done, not only clicked away, before it may go on. */
function Deeds({ alike, said, cautions, settled, set }: ChoosingProps) {
  const { deed } = alike
  return (
    <>
      {cautions.length + said.notes.length === 0 && (
        <p>
          <StatusMark status="good">{`No rule between this image and the receiver is broken or open; ${said.held} hold.`}</StatusMark>
        </p>
      )}
      {(deed !== undefined || cautions.length > 0) && (
        <div className="st-deeds">
          {cautions.length > 0 && (
            <div className="st-cautions" data-need="read">
              {cautions.map(({ rule, sentence }) => (
                <p key={rule}>
                  <StatusMark status="caution">Note.</StatusMark> {sentence}
                </p>
              ))}
              <CheckField
                label="I have read this, and want the image on the card all the same"
                value={settled.accepted}
                onChange={accepted => set({ accepted })}
              />
            </div>
          )}
          {deed !== undefined && (
            <div data-need="word">
              <TextField
                label={`The ${placeWord(deed.position)} digest word of this image`}
                hint="Other images look much like this one. Read the word in the first row above and type it here."
                value={settled.typedWord}
                onChange={typedWord => set({ typedWord })}
              />
            </div>
          )}
        </div>
      )}
    </>
  )
}

function Later({ said }: ChoosingProps) {
  const { notes, later } = said
  return (
    <>
      {notes.map(({ rule, sentence }) => (
        <p key={rule.id} className="fw-small">
          {sentence}
        </p>
      ))}
      {later.length > 0 && (
        <div className="fw-small">
          <p>Still to be put right before the update itself, with the image on the card:</p>
          <ul className="st-later">
            {later.map(({ rule, sentence }) => (
              <li key={rule.id}>{sentence}</li>
            ))}
          </ul>
        </div>
      )}
    </>
  )
}
