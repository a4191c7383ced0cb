import { useState } from 'react'
import type { ImageCard } from '../../shared/image/image-card.ts'
import type { LibraryEntry } from '../../shared/library/entry.ts'
import type { Bench } from '../../shared/model/bench.ts'
import { bandSchema, isKnown, regionSchema, regionWords, UNKNOWN } from '../../shared/model/units.ts'
import { Button } from '../ui/Button.tsx'
import { Dialog } from '../ui/Dialog.tsx'
import { TextField } from '../ui/Field.tsx'
import { ChoicesField, SelectField } from '../ui/Select.tsx'
import { type CardDraft, cardOf, draftErrors, draftOf, openFields } from './card-draft.ts'

export interface CardFormProps {
  readonly bench: Bench
  readonly entry: LibraryEntry
  readonly onSave: (card: ImageCard) => void
  readonly onClose: () => void
}

const bandOptions = bandSchema.options.map(value => ({ value, word: value.replace(/(GHz|MHz)/, ' $1') }))
const regionOptions = [
  ...regionSchema.options.map(value => ({ value, word: regionWords[value] })),
  { value: 'any' as const, word: 'any: it says so itself' },
]
const generationOptions = Array.from({ length: 9 }, (_, i) => ({ value: i + 1, word: String(i + 1) }))
const airOptions = [
  { value: true, word: 'yes' },
  { value: false, word: 'no, by cable only' },
]

/** Asks what an image is for. Nothing is guessed: what is not known stays not known. */
export function CardForm({ bench, entry, onSave, onClose }: CardFormProps) {
  const [draft, setDraft] = useState<CardDraft>(() => draftOf(entry, bench))
  const [isTried, setTried] = useState(false)
  const errors = isTried ? draftErrors(draft) : {}
  const set = (change: Partial<CardDraft>) => setDraft(before => ({ ...before, ...change }))
  const save = () => {
    setTried(true)
    if (Object.keys(draftErrors(draft)).length === 0) onSave(cardOf(draft, entry, bench))
  }
  return (
    <Dialog
      title={`What is ${entry.fileName} for?`}
      lead="Look at where you got it from. What you do not know stays not known; it is never taken for fine."
      wide
      onClose={onClose}
      onSubmit={save}
      foot={
        <>
          <Button kind="quiet" onClick={onClose}>
            Cancel
          </Button>
          <Button kind="primary" type="submit">
            Keep as its image card
          </Button>
        </>
      }
    >
      <StillOpen draft={draft} notes={entry.card?.notes} signedBy={entry.card?.signature?.keyId} />
      <div className="fw-form">
        <SelectField
          label="Type of receiver"
          mayBeUnknown
          value={draft.typeId}
          options={bench.catalogue.receiverTypes.map(t => ({ value: t.id, word: `${t.maker} ${t.name}` }))}
          onChange={typeId => set({ typeId: typeId ?? UNKNOWN })}
        />
        <TextField
          label="Version"
          mayBeUnknown
          value={draft.version}
          placeholder="such as 2.3.1"
          error={errors.version}
          onChange={version => set({ version })}
        />
        <SelectField
          label="Link generation"
          mayBeUnknown
          value={draft.generation}
          options={generationOptions}
          onChange={generation => set({ generation: generation ?? UNKNOWN })}
        />
        <SelectField
          label="How the air is shared"
          hint="Listen-before-talk in Europe, hopping elsewhere. Local rules decide."
          mayBeUnknown
          value={draft.region}
          options={regionOptions}
          onChange={region => set({ region: region ?? UNKNOWN })}
        />
        <ChoicesField
          label="Bands"
          mayBeUnknown
          value={isKnown(draft.bands) ? draft.bands : UNKNOWN}
          options={bandOptions}
          error={errors.bands}
          onChange={bands => set({ bands })}
        />
        <SelectField
          label="May go by air"
          mayBeUnknown
          value={draft.wirelessCapable}
          options={airOptions}
          onChange={wirelessCapable => set({ wirelessCapable: wirelessCapable ?? UNKNOWN })}
        />
        <Revisions bench={bench} draft={draft} error={errors.hardwareRevisions} set={set} />
      </div>
    </Dialog>
  )
}

interface StillOpenProps {
  readonly draft: CardDraft
  readonly notes: string | undefined
  readonly signedBy: string | undefined
}

/** What nobody has said yet, what the maker wrote, and what is lost by changing the card. */
function StillOpen({ draft, notes, signedBy }: StillOpenProps) {
  const open = openFields(draft)
  return (
    <div className="fw-open">
      <p role="status">
        {open.length === 0 ? 'Everything is said.' : `Nobody has said yet: ${open.join(', ')}.`}
      </p>
      {notes && <p>Release notes: {notes}</p>}
      {signedBy !== undefined && (
        <p>
          The card is signed with the key {signedBy}. When you change it, the signature no longer covers it
          and is left out.
        </p>
      )}
    </div>
  )
}

interface RevisionsProps {
  readonly bench: Bench
  readonly draft: CardDraft
  readonly error: string | undefined
  readonly set: (change: Partial<CardDraft>) => void
}

const revisionKinds = [
  { value: 'any' as const, word: 'all of them' },
  { value: 'some' as const, word: 'only these' },
]

function Revisions({ bench, draft, error, set }: RevisionsProps) {
  const { hardwareRevisions } = draft
  const chosen = Array.isArray(hardwareRevisions) ? (hardwareRevisions as readonly string[]) : undefined
  const ofType = bench.catalogue.receiverTypes.find(t => t.id === draft.typeId)?.hardwareRevisions ?? []
  const options = [...new Set([...ofType, ...(chosen ?? [])])].map(value => ({ value, word: value }))
  return (
    <div className="fw-form-pair">
      <SelectField
        label="Hardware revisions"
        mayBeUnknown
        hint={options.length === 0 ? 'Choose the type first to name single revisions.' : undefined}
        value={chosen ? 'some' : (hardwareRevisions as 'any' | typeof UNKNOWN)}
        options={options.length === 0 ? revisionKinds.slice(0, 1) : revisionKinds}
        onChange={kind => set({ hardwareRevisions: kind === 'some' ? [] : (kind ?? UNKNOWN) })}
      />
      {chosen && (
        <ChoicesField
          label="Which"
          value={chosen}
          options={options}
          error={error}
          onChange={next => set({ hardwareRevisions: next })}
        />
      )}
    </div>
  )
}
