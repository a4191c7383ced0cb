import { around, type Bench } from '../../../shared/model/bench.ts'
import type { Route } from '../../../shared/model/units.ts'
import type { DeviceId } from '../../../shared/sim/trace.ts'
import type { DeviceState } from '../playback/state-at.ts'
import { type DeviceWords, devicesOf } from './devices.ts'
import { Link } from './Link.tsx'
import type { Traffic } from './traffic.ts'
import './diagram.css'

export interface BenchDiagramProps {
  readonly bench: Bench
  readonly receiverId: string
  readonly route: Route
  /** What each device is at the moment shown; without it the bench is drawn as it is set up. */
  readonly states?: ReadonlyMap<DeviceId, DeviceState>
  readonly traffic?: Traffic
  readonly selected?: DeviceId
  readonly onSelect?: (device: DeviceId | undefined) => void
}

const SILENT: Traffic = new Set()
const NO_STATES: ReadonlyMap<DeviceId, DeviceState> = new Map()

/** Radio, module, card, cable or air, receiver, supply and sensors of one receiver, wired as they are on the bench. */
export function BenchDiagram(props: BenchDiagramProps) {
  const { bench, receiverId, route, states = NO_STATES, traffic = SILENT, selected, onSelect } = props
  const devices = devicesOf(bench, receiverId, route)
  const box = (id: DeviceId) => (
    <DeviceBox
      words={devices.get(id)!}
      state={states.get(id)}
      talking={traffic.has(id)}
      selected={selected === id}
      onSelect={onSelect}
    />
  )
  const link = devices.get(route === 'cable' ? 'cable' : 'air')!
  const idleModule = route === 'cable' ? ' rh-dim' : ''
  return (
    <section className="rh-bench" aria-label="The bench, wired">
      <div className="rh-bench-radio">
        {box('radio')}
        <div className="rh-bench-inner">
          {box('card')}
          <div className={`rh-bench-slot${idleModule}`}>{box('module')}</div>
        </div>
      </div>
      <Link
        words={link}
        state={states.get(link.id)}
        route={route}
        wires={states.get('cable')?.wires ?? around(bench, receiverId).cable?.wires ?? []}
        fed={bench.wiring.cableFeed !== 'own-supply'}
        traffic={traffic}
        selected={selected === link.id}
        onSelect={onSelect}
      />
      <div className="rh-bench-far">
        {box('receiver')}
        <div className="rh-bench-leads" aria-hidden="true">
          <span />
          <span />
        </div>
        <div className="rh-bench-inner">
          {box('supply')}
          {box('sensor')}
        </div>
      </div>
    </section>
  )
}

/** Where a living supply comes from stands in its box already. */
const sayState = (id: DeviceId, { alive, state }: DeviceState): string =>
  id === 'supply' && alive ? 'feeding' : state

interface DeviceBoxProps {
  readonly words: DeviceWords
  readonly state: DeviceState | undefined
  readonly talking: boolean
  readonly selected: boolean
  readonly onSelect: BenchDiagramProps['onSelect']
}

function DeviceBox({ words, state, talking, selected, onSelect }: DeviceBoxProps) {
  const life = state === undefined ? '' : state.alive ? ' rh-alive' : ' rh-dead'
  const classes = `rh-device rh-device-${words.id}${life}${words.present ? '' : ' rh-absent'}${talking ? ' rh-talking' : ''}`
  const inside = (
    <>
      <span className="rh-device-kind">
        {words.kind}
        {talking ? <span className="rh-device-talk">speaks</span> : null}
      </span>
      <strong title={words.name}>{words.name}</strong>
      <span className="rh-soft">{words.line}</span>
      {state === undefined ? null : (
        <span className="rh-device-state" title={state.state}>
          <span aria-hidden="true">{state.alive ? '●' : '✕'}</span> {sayState(words.id, state)}
        </span>
      )}
    </>
  )
  if (onSelect === undefined) return <div className={classes}>{inside}</div>
  return (
    <button
      type="button"
      className={classes}
      aria-pressed={selected}
      onClick={() => onSelect(selected ? undefined : words.id)}
    >
      {inside}
    </button>
  )
}
