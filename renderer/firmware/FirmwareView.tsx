import { useDeferredValue, useMemo, useState } from 'react'
import type { Bench } from '../../shared/model/bench.ts'
import { findType } from '../../shared/model/bench.ts'
import type { ReceiverType } from '../../shared/model/catalogue.ts'
import type { ReceiverUnit } from '../../shared/model/gear.ts'
import { isKnown, type Route } from '../../shared/model/units.ts'
import { EmptyState } from '../ui/EmptyState.tsx'
import { ProblemList } from '../ui/Notice.tsx'
import { Asking } from './asking/Asking.tsx'
import { CardForm } from './CardForm.tsx'
import type { FolderFiles } from './folder-files.ts'
import { Head, type Told } from './Head.tsx'
import { ImagePanel } from './ImagePanel.tsx'
import { Images } from './Images.tsx'
import { ImportResults } from './ImportResults.tsx'
import { KeysDialog } from './KeysDialog.tsx'
import { LibraryTools } from './LibraryTools.tsx'
import { type ChosenImage, type Listed, listImages, sourcesOf } from './listed.ts'
import { CardDialogs, useCardDialogs } from './stage/CardDialogs.tsx'
import type { CardClient } from './stage/use-volumes.ts'
import { addUnmarked } from './unmarked.ts'
import { useDrop } from './use-drop.ts'
import { type LibraryDesk, useLibrary } from './use-library.ts'
import { useWatch } from './use-watch.ts'
import { Versions } from './Versions.tsx'
import { WatchDialog } from './WatchDialog.tsx'
import { WatchNews } from './WatchNews.tsx'
import './firmware.css'

export interface FirmwareViewProps {
  readonly bench: Bench
  readonly onChangeBench: (label: string, next: Bench) => void
  /** Takes back the last change of the bench. */
  readonly onUndo: () => void
  readonly receiverId: string | undefined
  readonly onChooseReceiver: (id: string) => void
  readonly client: CardClient
  readonly onRehearse: (image: ChosenImage, route: Route) => void
  /** To the view where types and receivers are added. */
  readonly onFleet: () => void
}

/** Which image does this receiver need, and is it good? */
export function FirmwareView(props: FirmwareViewProps) {
  const { bench, receiverId } = props
  const receiver = bench.receivers.find(r => r.id === receiverId)
  const type = receiver && findType(bench.catalogue, 'receiverTypes', receiver.typeId)
  if (receiver === undefined || (type === undefined && isKnown(receiver.typeId)))
    return (
      <EmptyState title="No receiver is chosen">
        <p>
          Choose a receiver in the Fleet view, or add one there with its type. Then its images are ranked
          here.
        </p>
      </EmptyState>
    )
  return <ForReceiver {...props} receiver={receiver} type={type} />
}

interface ForReceiverProps extends FirmwareViewProps {
  readonly receiver: ReceiverUnit
  /** Undefined where nobody knows it yet. */
  readonly type: ReceiverType | undefined
}

function ForReceiver(props: ForReceiverProps) {
  const { bench, receiver, type, client } = props
  const library = useLibrary(client)
  const [route, setRoute] = useState<Route>('cable')
  const [picked, setPicked] = useState<{ receiverId: string; key: string }>()
  const [told, setTold] = useState<Told>()
  const [cardFor, setCardFor] = useState<string>()
  // Thousands of images take a moment to rank: what was clicked shows at once, the list follows.
  const { entries } = library
  const live = useMemo(
    () => ({ bench, receiver, type, route, entries }),
    [bench, receiver, type, route, entries],
  )
  const shown = useDeferredValue(live)
  const listed = useListed(shown)
  const pick = (key: string) => setPicked({ receiverId: receiver.id, key })
  const pickFirst = (outcomes: readonly { readonly id?: string }[]) => {
    const taken = outcomes.find(outcome => outcome.id !== undefined)
    if (taken?.id !== undefined) pick(`library:${taken.id}`)
  }
  const takeFiles = ({ files, bounds, isFolder }: FolderFiles) => {
    setTold(undefined)
    void library.take(files, { among: isFolder, bounds }).then(pickFirst)
  }
  const dragging = useDrop(takeFiles)
  const { watch, setWatch, seen } = useWatch(client)
  const [dialog, setDialog] = useState<'keys' | 'watch'>()
  const chosen =
    (picked?.receiverId === receiver.id ? listed.find(one => one.key === picked.key) : undefined) ?? listed[0]
  const change = (label: string, next: Bench) => {
    props.onChangeBench(label, next)
    setTold({ text: `Done: ${label}.`, undo: props.onUndo })
  }
  const cardEntry = library.entries?.find(entry => entry.id === cardFor)
  const actions = useLibraryActions(library, setTold)
  const cards = useCardDialogs()
  return (
    <div className="fw">
      <Head
        bench={bench}
        receiver={receiver}
        route={route}
        told={told}
        importing={library.importing}
        onChooseReceiver={id => {
          setTold(undefined)
          props.onChooseReceiver(id)
        }}
        onAddUnmarked={() => {
          const added = addUnmarked(bench)
          change(added.label, added.bench)
          props.onChooseReceiver(added.id)
        }}
        onRoute={setRoute}
        onFiles={files => takeFiles({ files, bounds: [], isFolder: false })}
        onStop={library.stop}
        onCheckCard={cards.check}
        onTold={setTold}
      />
      {library.problems.length > 0 && (
        <ProblemList problems={library.problems} onClose={library.clearProblems} />
      )}
      <Asking
        key={shown.receiver.id}
        bench={shown.bench}
        receiver={shown.receiver}
        route={shown.route}
        listed={listed}
        onAnswer={(label, next, of) => of === bench && change(label, next)}
        onFleet={props.onFleet}
      />
      <ImportResults
        outcomes={library.outcomes}
        bounds={library.bounds}
        onFamilies={(outcome, families) => void library.takeFamilies(outcome, families).then(pickFirst)}
        onShow={id => pick(`library:${id}`)}
        onClose={library.clearOutcomes}
      />
      {watch && <WatchNews watch={watch} onSeen={seen} onWatch={() => setDialog('watch')} />}
      {shown.type !== undefined && (
        <Versions
          receiver={shown.receiver}
          type={shown.type}
          listed={listed}
          chosen={chosen}
          onChoose={pick}
        />
      )}
      <div className="fw-columns">
        <Images
          key={shown.receiver.id}
          bench={bench}
          typeId={shown.type?.id}
          listed={listed}
          chosen={chosen}
          onChoose={pick}
        >
          <LibraryTools
            isImporting={library.importing !== undefined}
            onFolder={takeFiles}
            onWatch={() => setDialog('watch')}
            onKeys={() => setDialog('keys')}
          />
        </Images>
        {chosen === undefined ? (
          <EmptyState title="There is no image yet">
            <p>Import the files that you have: with the button above, or drop them anywhere on this view.</p>
          </EmptyState>
        ) : (
          <ImagePanel
            key={chosen.key}
            bench={bench}
            receiver={shown.receiver}
            typeName={shown.type && `${shown.type.maker} ${shown.type.name}`}
            chosen={chosen}
            all={listed}
            entries={library.entries ?? []}
            onKeys={() => setDialog('keys')}
            onChangeBench={change}
            onRoute={setRoute}
            onRehearse={() => props.onRehearse(chosen.choice, route)}
            onStage={() => cards.stage(chosen)}
            onSayWhatFor={() => setCardFor(chosen.entry?.id)}
            onCompareDigest={sha256 =>
              chosen.entry ? library.compareDigest(chosen.entry.id, sha256) : Promise.resolve(false)
            }
            onRemove={() => chosen.entry && void actions.remove(chosen.entry.id, chosen.name)}
          />
        )}
      </div>
      {cardEntry !== undefined && (
        <CardForm
          bench={bench}
          entry={cardEntry}
          onClose={() => setCardFor(undefined)}
          onSave={card => {
            setCardFor(undefined)
            pick(`library:${cardEntry.id}`)
            void actions.setCard(cardEntry, card)
          }}
        />
      )}
      <CardDialogs
        {...cards}
        bench={bench}
        receiver={receiver}
        typeName={type === undefined ? 'type not known' : `${type.maker} ${type.name}`}
        all={listed}
        client={client}
        onChangeBench={change}
      />
      {dialog === 'keys' && <KeysDialog client={client} onClose={() => setDialog(undefined)} />}
      {dialog === 'watch' && (
        <WatchDialog client={client} watch={watch} onChange={setWatch} onClose={() => setDialog(undefined)} />
      )}
      {dragging && (
        <p className="fw-drop">
          Drop images, folders or ZIP archives here, with their image cards if they have any.
        </p>
      )}
    </div>
  )
}

interface Ranking {
  readonly bench: Bench
  readonly receiver: ReceiverUnit
  /** Undefined where nobody knows it yet. */
  readonly type: ReceiverType | undefined
  readonly route: Route
  readonly entries: LibraryDesk['entries']
}

/** Ranked once for each change of the bench, the library, the receiver or the route. */
function useListed({ bench, receiver, type, route, entries }: Ranking): readonly Listed[] {
  const sources = useMemo(() => sourcesOf(bench, entries ?? [], type), [bench, entries, type])
  return useMemo(() => listImages(bench, receiver.id, route, sources), [bench, receiver.id, route, sources])
}

/** Removing and filling in, each with the way back. */
function useLibraryActions(library: LibraryDesk, tell: (told: Told) => void) {
  return {
    async remove(id: string, name: string) {
      if (!(await library.remove(id))) return
      tell({ text: `Removed ${name}.`, undo: () => void library.restore(id) })
    },
    async setCard(
      entry: NonNullable<LibraryDesk['entries']>[number],
      card: Parameters<LibraryDesk['setCard']>[1],
    ) {
      if (!(await library.setCard(entry.id, card))) return
      tell({
        text: `Kept what ${entry.fileName} is for.`,
        undo: () => void library.setCard(entry.id, entry.card, entry.cardFrom),
      })
    },
  }
}
