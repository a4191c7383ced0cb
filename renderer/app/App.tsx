import { lazy, Suspense, useCallback, useEffect, useRef, useState } from 'react'
import type { MenuCommand } from '../../shared/api/contract.ts'
import { writeBench } from '../../shared/model/bench.ts'
import type { Problem } from '../../shared/model/problem.ts'
import type { Route } from '../../shared/model/units.ts'
import type { AppClient } from '../api/client.ts'
import type { InitialChoice } from '../rehearse/setup/settings.ts'
import { hasUnsaved } from '../state/bench-state.ts'
import type { Settings } from '../state/settings.ts'
import { useBench } from '../state/use-bench.tsx'
import { ProblemList, problemsOf } from '../ui/Notice.tsx'
import { Ask } from './Ask.tsx'
import { Edge } from './Edge.tsx'
import { SaveAs } from './SaveAs.tsx'
import { TopBar } from './TopBar.tsx'
import { applyTheme, followSystem, type Theme } from './theme.ts'
import { useCommands } from './use-commands.ts'
import { useDroppedFile } from './use-dropped-file.ts'
import { VIEWS, type ViewId } from './views.ts'
import { Welcome } from './Welcome.tsx'

const FleetView = lazy(() => import('../fleet/FleetView.tsx').then(m => ({ default: m.FleetView })))
const FirmwareView = lazy(() =>
  import('../firmware/FirmwareView.tsx').then(m => ({ default: m.FirmwareView })),
)
const NewBench = lazy(() => import('../new-bench/NewBench.tsx').then(m => ({ default: m.NewBench })))
const RehearseView = lazy(() =>
  import('../rehearse/RehearseView.tsx').then(m => ({ default: m.RehearseView })),
)

type Place = ViewId | 'welcome' | 'new-bench'
type Asking = { readonly what: 'save-as' } | { readonly what: 'discard'; readonly then: () => void }

const MOST_BENCH_BYTES = 8 * 1024 * 1024

/** Hands the text to the person as a file of their own. */
function download(fileName: string, text: string): void {
  const url = URL.createObjectURL(new Blob([text], { type: 'application/json' }))
  const link = document.createElement('a')
  link.href = url
  link.download = fileName
  link.click()
  URL.revokeObjectURL(url)
}

export interface AppProps {
  readonly client: AppClient
  readonly settings: Settings
}

export function App({ client, settings }: AppProps) {
  const desk = useBench()
  const [place, setPlace] = useState<Place>('welcome')
  const [problems, setProblems] = useState<readonly Problem[]>([])
  const [asking, setAsking] = useState<Asking>()
  const [theme, setTheme] = useState<Theme>(settings.theme)
  /** What the new bench hands over to its first rehearsal. */
  const [first, setFirst] = useState<{
    image: { fileName: string; octets: Uint8Array } | undefined
    route: Route
  }>()
  /** What the firmware view hands over, for the receiver that it was chosen for. */
  const [handed, setHanded] = useState<{ receiverId: string | undefined; choice: InitialChoice }>()
  const view = useRef<HTMLElement>(null)
  const { open } = desk

  useEffect(() => {
    settings.theme = theme
    applyTheme(theme)
    return followSystem(() => theme)
  }, [theme, settings])

  const tell = useCallback((error: unknown) => setProblems(problemsOf(error)), [])
  const goTo = (next: Place) => {
    setPlace(next)
    setProblems([])
    requestAnimationFrame(() => view.current?.focus({ preventScroll: true }))
  }
  /** Goes on at once, or after the person has agreed to lose what is not saved. */
  const guarded = (then: () => void) => {
    if (
      open &&
      hasUnsaved(open) &&
      (open.past.length > 0 || open.file === undefined) &&
      open.saved !== open.bench
    )
      setAsking({ what: 'discard', then })
    else then()
  }
  const openText = async (file: File) => {
    try {
      if (file.size > MOST_BENCH_BYTES)
        throw new Error(`${file.name} has ${file.size} octets; a bench file has at most ${MOST_BENCH_BYTES}.`)
      await desk.openText(file.name, await file.text())
      goTo('fleet')
    } catch (error) {
      tell(error)
    }
  }
  const { openFile } = desk
  const asked = useRef(false)
  useEffect(() => {
    if (asked.current) return
    asked.current = true
    // A bench named on the command line is what the person wants to see first.
    client
      .call('bench.list', {})
      .then(async ({ commandLineFile }) => {
        if (commandLineFile === undefined) return
        await openFile(commandLineFile)
        setPlace('fleet')
      })
      .catch(tell)
  }, [client, openFile, tell])
  const save = async () => {
    if (open === undefined) return
    try {
      if (!(await desk.save())) setAsking({ what: 'save-as' })
    } catch (error) {
      tell(error)
    }
  }
  const run = (command: MenuCommand) => {
    if (command === 'undo') desk.undo()
    else if (command === 'redo') desk.redo()
    else if (command === 'save') void save()
    else if (command === 'save-as') open && setAsking({ what: 'save-as' })
    else goTo(command === 'new' ? 'new-bench' : 'welcome')
  }
  useCommands(client, run)
  useDroppedFile(file => guarded(() => void openText(file)))

  return (
    <div className="app">
      <a className="app-skip button" href="#view">
        To the view
      </a>
      <TopBar
        open={open}
        onUndo={desk.undo}
        onRedo={desk.redo}
        onSave={() => void save()}
        onSaveAs={() => setAsking({ what: 'save-as' })}
        onExport={() => open && download(`${open.bench.name}.preflash.json`, writeBench(open.bench))}
      />
      <Edge
        view={VIEWS.find(v => v.id === place)?.id}
        onView={goTo}
        canShow={open !== undefined}
        theme={theme}
        onTheme={setTheme}
        onHome={() => goTo('welcome')}
      />
      <main id="view" className="app-view" ref={view} tabIndex={-1}>
        <Suspense fallback={<p className="welcome">One moment…</p>}>
          {place === 'welcome' && (
            <Welcome
              client={client}
              draft={open === undefined ? desk.draft : undefined}
              onDemo={() =>
                guarded(() => {
                  desk.openDemo()
                  goTo('fleet')
                })
              }
              onNew={() => goTo('new-bench')}
              onOpenFile={fileName =>
                guarded(() => void desk.openFile(fileName).then(() => goTo('fleet'), tell))
              }
              onOpenText={file => guarded(() => void openText(file))}
              onCarryOn={() => {
                desk.carryOn()
                goTo('fleet')
              }}
              onProblems={setProblems}
            />
          )}
          {place === 'new-bench' && (
            <NewBench
              onDone={(bench, receiverId, file, route) =>
                guarded(() => {
                  desk.openNew(bench, receiverId)
                  setFirst({ image: file, route })
                  setHanded(undefined)
                  goTo('rehearse')
                })
              }
              onCancel={() => goTo('welcome')}
            />
          )}
          {place === 'fleet' && open && (
            <FleetView
              bench={open.bench}
              onChangeBench={desk.change}
              receiverId={open.receiverId}
              onChooseReceiver={desk.choose}
              onRehearse={() => goTo('rehearse')}
            />
          )}
          {place === 'firmware' && open && (
            <FirmwareView
              bench={open.bench}
              onChangeBench={desk.change}
              onUndo={desk.undo}
              receiverId={open.receiverId}
              onChooseReceiver={desk.choose}
              client={client}
              onRehearse={(image, route) => {
                setFirst(undefined)
                setHanded({ receiverId: open.receiverId, choice: { image, route } })
                goTo('rehearse')
              }}
            />
          )}
          {place === 'rehearse' && open && (
            <RehearseView
              bench={open.bench}
              onChangeBench={desk.change}
              receiverId={open.receiverId}
              onChooseReceiver={desk.choose}
              client={client}
              initialImage={first?.image}
              initialRoute={first?.route}
              initialChoice={handed?.receiverId === open.receiverId ? handed?.choice : undefined}
              memory={settings.rehearse}
            />
          )}
        </Suspense>
      </main>
      {problems.length > 0 && (
        <div className="app-notices">
          <ProblemList problems={problems} onClose={() => setProblems([])} />
        </div>
      )}
      {asking?.what === 'save-as' && open && (
        <SaveAs
          suggested={open.file?.fileName ?? open.bench.name}
          onSave={desk.saveAs}
          onClose={() => setAsking(undefined)}
        />
      )}
      {asking?.what === 'discard' && (
        <Ask
          title="There are unsaved changes"
          yes="Go on without saving"
          onNo={() => setAsking(undefined)}
          onYes={() => {
            setAsking(undefined)
            asking.then()
          }}
        >
          <p>What you changed on “{open?.bench.name}” since it was last saved would be lost.</p>
        </Ask>
      )}
    </div>
  )
}
