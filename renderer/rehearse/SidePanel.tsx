import { type KeyboardEvent, useEffect, useId, useRef, useState, useSyncExternalStore } from 'react'
import type { DeviceId } from '../../shared/sim/trace.ts'
import { devicesOf } from './diagram/devices.ts'
import { OutcomePanel } from './outcome/OutcomePanel.tsx'
import { outcomeMarks } from './outcome/words.ts'
import { EventList } from './playback/EventList.tsx'
import { ExplainDevice, ExplainFrame } from './playback/Explain.tsx'
import { FrameTable } from './playback/FrameTable.tsx'
import { keyWords } from './playback/keys.ts'
import { PhaseList } from './playback/PhaseList.tsx'
import { devicesAt } from './playback/state-at.ts'
import { useClockView } from './playback/use-clock.ts'
import type { Shown } from './use-rehearsal.ts'

const TABS = ['now', 'events', 'frames', 'outcome'] as const
type Tab = (typeof TABS)[number]
const tabWords: Readonly<Record<Tab, string>> = {
  now: 'Now',
  events: 'Events',
  frames: 'Frames',
  outcome: 'Outcome',
}

interface SidePanelProps {
  readonly shown: Shown
  readonly busy: boolean
  readonly device: DeviceId | undefined
  readonly onAnotherSeed: () => void
  readonly onBench?: () => void
}

/** The right side: what happens now, all events, the frames in words, and at the end the outcome. */
export function SidePanel({ shown, busy, device, onAnotherSeed, onBench }: SidePanelProps) {
  const { clock, timeLine, session } = shown
  const { ended } = useClockView(clock)
  const [tab, setTab] = useState<Tab>(ended ? 'outcome' : 'now')
  const { selected } = useSyncExternalStore(timeLine.subscribe, timeLine.read)
  const id = useId()
  useEffect(() => {
    if (ended) setTab('outcome')
  }, [ended])
  const explained = useRef({ device, selected })
  useEffect(() => {
    // What was chosen before the view was left is no news when it is shown again.
    if (explained.current.device === device && explained.current.selected === selected) return
    explained.current = { device, selected }
    if (device !== undefined || selected !== undefined)
      setTab(before => (before === 'frames' ? before : 'now'))
  }, [device, selected])
  return (
    <section className="rh-side" aria-label="Explanation and outcome">
      <TabBar id={id} tab={tab} onTab={setTab} />
      <p className="rh-hidden" aria-live="polite">
        {ended
          ? `The rehearsal has ended: ${outcomeMarks[session.report.outcome].word}. ${session.report.sentence}`
          : ''}
      </p>
      <div className="rh-panel" id={`${id}-panel`} role="tabpanel" aria-labelledby={`${id}-${tab}`}>
        {tab === 'now' ? <NowPanel shown={shown} device={device} /> : null}
        {tab === 'events' ? <EventList trace={session.trace} clock={clock} /> : null}
        {tab === 'frames' ? <FrameTable controller={timeLine} /> : null}
        <div className={tab === 'outcome' ? 'rh-scroll' : 'rh-print-only'}>
          <OutcomePanel session={session} busy={busy} onAnotherSeed={onAnotherSeed} onBench={onBench} />
        </div>
      </div>
    </section>
  )
}

function TabBar({ id, tab, onTab }: { id: string; tab: Tab; onTab: (tab: Tab) => void }) {
  const move = (event: KeyboardEvent<HTMLButtonElement>) => {
    const by = event.key === 'ArrowRight' ? 1 : event.key === 'ArrowLeft' ? -1 : 0
    if (by === 0) return
    event.preventDefault()
    const next = TABS[(TABS.indexOf(tab) + by + TABS.length) % TABS.length]
    onTab(next)
    document.getElementById(`${id}-${next}`)?.focus()
  }
  return (
    <div className="rh-tabs" role="tablist" aria-label="Right side">
      {TABS.map(each => (
        <button
          key={each}
          type="button"
          role="tab"
          id={`${id}-${each}`}
          aria-selected={tab === each}
          aria-controls={`${id}-panel`}
          tabIndex={tab === each ? 0 : -1}
          className="rh-tab"
          onClick={() => onTab(each)}
          onKeyDown={move}
        >
          {tabWords[each]}
        </button>
      ))}
    </div>
  )
}

function NowPanel({ shown, device }: { shown: Shown; device: DeviceId | undefined }) {
  const { clock, session, bench, timeLine } = shown
  const { atNs } = useClockView(clock)
  const { report, trace } = session
  const words = device && devicesOf(bench, report.receiver.id, report.route).get(device)
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a box that scrolls has to be reachable by keyboard
    <section className="rh-scroll" tabIndex={0} aria-label="What happens now">
      <ExplainFrame controller={timeLine} />
      {words && device ? (
        <ExplainDevice words={words} state={devicesAt(trace.devices, atNs).get(device)} />
      ) : null}
      <PhaseList session={session} clock={clock} />
      <details className="rh-keys">
        <summary>Keys</summary>
        <dl className="rh-facts">
          {keyWords.map(([key, what]) => (
            <div key={key} className="rh-fact">
              <dt>
                <kbd>{key}</kbd>
              </dt>
              <dd>{what}</dd>
            </div>
          ))}
        </dl>
      </details>
    </section>
  )
}
