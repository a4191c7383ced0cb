import { startTransition, useCallback, useEffect, useRef, useState } from 'react'
import type { MenuCommand } from '../../shared/api/contract.ts'
import { type Bench, writeBench } from '../../shared/model/bench.ts'
import type { Problem } from '../../shared/model/problem.ts'
import type { AppClient } from '../api/client.ts'
import { RunDesk } from '../bench/guide/run-desk.ts'
import { LiveBand } from '../bench/LiveBand.tsx'
import { WriteDesk } from '../bench/program/desk.ts'
import { type KeptPractice, noPractice } from '../diagnose/practice/use-practice.ts'
import type { KeptDiagnosis } from '../diagnose/use-diagnosis.ts'
import type { NewBenchProgress } from '../new-bench/NewBench.tsx'
import type { Shown } from '../rehearse/use-rehearsal.ts'
import { hasUnsaved } from '../state/bench-state.ts'
import type { Settings } from '../state/settings.ts'
import { useBench } from '../state/use-bench.tsx'
import { ProblemList, problemsOf } from '../ui/Notice.tsx'
import { saveText } from '../ui/save-text.ts'
import { Edge } from './Edge.tsx'
import { type Asking, Questions } from './Questions.tsx'
import { TopBar } from './TopBar.tsx'
import { applyTheme, followSystem, type Theme } from './theme.ts'
import { useCommands } from './use-commands.ts'
import { useDroppedFile } from './use-dropped-file.ts'
import { useOpening } from './use-opening.ts'
import { useRegions } from './use-regions.ts'
import { useSaid } from './use-said.ts'
import { fetchViewsWhenIdle, type HandOver, stillHanded, Views } from './Views.tsx'
import { VIEWS, type ViewId } from './views.ts'
import { Welcome } from './Welcome.tsx'

type Place = ViewId | 'welcome' | 'new-bench'

export interface AppProps {
  readonly client: AppClient
  readonly settings: Settings
}

export function App({ client, settings }: AppProps) {
  const desk = useBench()
  const { open } = desk
  const [place, setPlace] = useState<Place>('welcome')
  const [problems, setProblems] = useState<readonly Problem[]>([])
  const [asking, setAsking] = useState<Asking>()
  const [theme, setTheme] = useTheme(settings)
  const [handOver, setHandOver] = useState<HandOver>()
  const newBench = useRef<NewBenchProgress>(undefined)
  const rehearsal = useRef<Shown>(undefined)
  const diagnosis: KeptDiagnosis = useRef(undefined)
  const practice: KeptPractice = useRef(noPractice)
  const [guide] = useState(() => new RunDesk(client))
  useEffect(() => void guide.look(), [guide])
  const [program] = useState(() => new WriteDesk(client, settings.rehearse))
  useEffect(() => program.listen(), [program])
  const view = useRef<HTMLElement>(null)
  const [said, say] = useSaid()

  const tell = useCallback((error: unknown) => setProblems(problemsOf(error)), [])
  const goTo = (next: Place) => {
    setProblems([])
    // The old view stays as it is until the new one is there, so that nothing flickers.
    startTransition(() => {
      if (place === 'rehearse') setHandOver(before => before && stillHanded(before))
      setPlace(next)
    })
  }
  const hand = (next: HandOver | undefined) => {
    // Another bench or another image: what was played before is not about it.
    rehearsal.current = undefined
    setHandOver(next)
  }
  const opened = () => {
    diagnosis.current = undefined
    hand(undefined)
    goTo('fleet')
  }
  const opening = useOpening({ client, desk, onOpened: opened, onProblem: tell, onAsk: setAsking })
  const { guarded } = opening

  const save = async (overwrite = false) => {
    if (open === undefined) return
    try {
      if (await desk.save(overwrite)) {
        setProblems([])
        say('Saved.')
      } else setAsking({ what: 'save-as' })
    } catch (error) {
      const [problem] = problemsOf(error)
      if (problem?.code === 'bench.changed-on-disk') setAsking({ what: 'changed-on-disk', problem })
      else tell(error)
    }
  }
  const undo = () => {
    const label = open?.past.at(-1)?.label
    desk.undo()
    say(label === undefined ? 'There is nothing to undo.' : `Undone: ${label}.`)
  }
  const redo = () => {
    const label = open?.future[0]?.label
    desk.redo()
    say(label === undefined ? 'There is nothing to redo.' : `Done again: ${label}.`)
  }
  const change = (label: string, next: Bench) => {
    desk.change(label, next)
    // What was said is of a moment ago.
    say('')
  }
  const saveAs = () => open && setAsking({ what: 'save-as' })
  const commands: Readonly<Record<MenuCommand, () => unknown>> = {
    undo,
    redo,
    save: () => void save(),
    'save-as': saveAs,
    // Answers that were given are never dropped by a key.
    new: () => place !== 'new-bench' && goTo(newBench.current ? 'welcome' : 'new-bench'),
    open: () => goTo('welcome'),
  }
  useCommands(client, command => commands[command]())
  useDroppedFile(opening.openDropped, tell)
  useRegions()
  const isFirst = useRef(true)
  // biome-ignore lint/correctness/useExhaustiveDependencies: the focus follows the place, and nothing else
  useEffect(() => {
    // At the start the focus is the person's to place, and a view may have placed it itself.
    if (!isFirst.current && !view.current?.contains(document.activeElement))
      view.current?.focus({ preventScroll: true })
    isFirst.current = false
  }, [place])
  useEffect(fetchViewsWhenIdle, [])
  useEffect(() => {
    document.title = open ? `${hasUnsaved(open) ? '• ' : ''}${open.bench.name} – Preflash` : 'Preflash'
  }, [open])

  return (
    <div className="app">
      <a className="app-skip button" href="#view">
        To the view
      </a>
      <TopBar
        client={client}
        guide={guide}
        program={program}
        open={open}
        said={said}
        onUndo={undo}
        onRedo={redo}
        onSave={() => void save()}
        onSaveAs={saveAs}
        onExport={() => open && saveText(`${open.bench.name}.preflash.json`, writeBench(open.bench))}
      />
      <LiveBand guide={guide} program={program} />
      <Edge
        view={VIEWS.find(v => v.id === place)?.id}
        onView={goTo}
        canShow={open !== undefined}
        theme={theme}
        onTheme={setTheme}
        onHome={() => goTo('welcome')}
      />
      <main id="view" className="app-view" ref={view} tabIndex={-1}>
        {place === 'welcome' ? (
          <Welcome
            client={client}
            guide={guide}
            program={program}
            onBench={() => goTo('bench')}
            onRun={how => {
              if (how === 'stop') guide.stopLeft()
              else guide.takeUp()
              goTo('bench')
            }}
            draft={desk.draft?.bench}
            onDemo={() =>
              guarded(() => {
                desk.openDemo()
                opened()
              })
            }
            onNew={() => {
              newBench.current = undefined
              goTo('new-bench')
            }}
            onGoOnWithNew={newBench.current && (() => goTo('new-bench'))}
            onOpenFile={opening.openFile}
            onOpenText={opening.openDropped}
            onCarryOn={() => {
              desk.carryOn()
              opened()
            }}
            onProblems={setProblems}
          />
        ) : (
          <Views
            view={place}
            client={client}
            settings={settings}
            open={open}
            handOver={handOver}
            newBench={newBench}
            rehearsal={rehearsal}
            diagnosis={diagnosis}
            practice={practice}
            guide={guide}
            program={program}
            onOpenBench={(bench, receiverId) =>
              guarded(() => {
                diagnosis.current = undefined
                desk.openNew(bench, receiverId)
                hand(undefined)
              })
            }
            onChangeBench={change}
            onChooseReceiver={desk.choose}
            onUndo={undo}
            onGo={goTo}
            onRehearse={next => {
              if (next) hand(next)
              goTo('rehearse')
            }}
            onTry={trial => {
              setHandOver({ image: handOver?.image, trial })
              goTo('rehearse')
            }}
            onNewBench={(bench, receiverId, next) =>
              guarded(() => {
                newBench.current = undefined
                diagnosis.current = undefined
                desk.openNew(bench, receiverId)
                hand(next)
                goTo('rehearse')
              })
            }
            onCancelNewBench={() => {
              newBench.current = undefined
              goTo('welcome')
            }}
          />
        )}
      </main>
      {problems.length > 0 && (
        <div className="app-notices">
          <ProblemList problems={problems} onClose={() => setProblems([])} />
        </div>
      )}
      <Questions
        asking={asking}
        open={open}
        draft={desk.draft}
        onSaveAs={desk.saveAs}
        onReplace={() => void save(true)}
        onAsk={setAsking}
      />
    </div>
  )
}

function useTheme(settings: Settings): [Theme, (theme: Theme) => void] {
  const [theme, setTheme] = useState<Theme>(settings.theme)
  useEffect(() => {
    settings.theme = theme
    applyTheme(theme)
    return followSystem(() => theme)
  }, [theme, settings])
  return [theme, setTheme]
}
