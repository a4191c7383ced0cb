import type { DeviceId } from '../../shared/sim/trace.ts'
import { BenchDiagram } from './diagram/BenchDiagram.tsx'
import { trafficIn } from './diagram/traffic.ts'
import { FlashGrid } from './playback/FlashGrid.tsx'
import { devicesAt } from './playback/state-at.ts'
import { Transport } from './playback/Transport.tsx'
import { useClockView } from './playback/use-clock.ts'
import { Overview } from './timeline/Overview.tsx'
import { TimeLine } from './timeline/TimeLine.tsx'
import type { Shown } from './use-rehearsal.ts'

interface SessionViewProps {
  readonly shown: Shown
  readonly selected: DeviceId | undefined
  readonly onSelect: (device: DeviceId | undefined) => void
}

/** The middle of the view: the bench above, the time line below, one play head for all. */
export function SessionView({ shown, selected, onSelect }: SessionViewProps) {
  const { clock, timeLine, session } = shown
  return (
    <>
      <LiveBench shown={shown} selected={selected} onSelect={onSelect} />
      <Transport clock={clock} />
      <Overview controller={timeLine} />
      <TimeLine key={`${session.report.seed}-${session.trace.endNs}`} controller={timeLine} />
      <FlashGrid session={session} clock={clock} />
    </>
  )
}

/** How far back a burst still counts as "just now" while the session plays. */
const TEXT_MS = 100

/** The bench of the rehearsal, not the one that is open: that may have been edited since. */
function LiveBench({ shown, selected, onSelect }: SessionViewProps) {
  const { bench, session, clock } = shown
  const { atNs, playing, speed } = useClockView(clock)
  const { report, trace } = session
  const states = devicesAt(trace.devices, atNs)
  const spanNs = playing ? TEXT_MS * 1e6 * speed : 0
  const traffic = trafficIn(session, Math.max(0, atNs - spanNs), atNs)
  return (
    <BenchDiagram
      bench={bench}
      receiverId={report.receiver.id}
      route={report.route}
      states={states}
      traffic={traffic}
      selected={selected}
      onSelect={onSelect}
    />
  )
}
