import type { Route } from '../../../shared/model/units.ts'
import type { LaidWire } from '../../../shared/sim/trace.ts'
import type { DeviceState } from '../playback/state-at.ts'
import type { BenchDiagramProps } from './BenchDiagram.tsx'
import type { DeviceWords } from './devices.ts'
import type { Traffic } from './traffic.ts'
import { drawnWires } from './wires.ts'

interface LinkProps {
  readonly words: DeviceWords
  readonly state: DeviceState | undefined
  readonly route: Route
  /** Those of the cable that are whole. */
  readonly wires: readonly LaidWire[]
  /** Whether the cable's positive wire feeds the receiver. */
  readonly fed: boolean
  readonly traffic: Traffic
  readonly selected: boolean
  readonly onSelect: BenchDiagramProps['onSelect']
}

/** What joins radio and receiver: three wires, or the air. */
export function Link(props: LinkProps) {
  const { words, state, route, traffic, selected, onSelect } = props
  const outward = traffic.has('radio') || traffic.has('module')
  const inward = traffic.has('receiver') || traffic.has('sensor')
  const inside = (
    <>
      <strong title={words.name}>{words.name}</strong>
      {route === 'cable' ? <CableWires {...props} /> : <Air broken={state?.alive === false} />}
      <span className="rh-link-flow">
        {outward || inward
          ? `${outward ? 'to the receiver →' : ''}${outward && inward ? ' ' : ''}${inward ? '← back' : ''}`
          : ' '}
      </span>
      <span className="rh-device-state">
        {state === undefined ? (
          <span className="rh-soft">{words.line}</span>
        ) : (
          <>
            <span aria-hidden="true">{state.alive ? '●' : '✕'}</span> {state.state}
          </>
        )}
      </span>
    </>
  )
  const classes = `rh-link${state?.alive === false ? ' rh-dead' : ''}${words.present ? '' : ' rh-absent'}`
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

function CableWires({ wires, fed, traffic }: LinkProps) {
  const drawn = drawnWires(wires, fed)
  return (
    <span className="rh-cable">
      {drawn.map(({ pin, isOpen, isOff }) => (
        <span key={pin.name} className={`rh-pin rh-pin-${pin.kind}${isOpen || isOff ? ' rh-pin-open' : ''}`}>
          {pin.name}
          {isOpen && ' open'}
          {isOff && ' no contact'}
        </span>
      ))}
      <svg className="rh-wires" viewBox="0 0 120 60" preserveAspectRatio="none" aria-hidden="true">
        {drawn.map(({ pin, paths }) => {
          const busy = pin.kind === 'signal' && traffic.size > 0 && paths.length === 1
          return (
            <g key={pin.name} className={`rh-wire rh-wire-${pin.kind}${busy ? ' rh-wire-busy' : ''}`}>
              {paths.map(path => (
                <path key={path} d={path} vectorEffect="non-scaling-stroke" />
              ))}
            </g>
          )
        })}
      </svg>
    </span>
  )
}

function Air({ broken }: { broken: boolean }) {
  return (
    <svg
      className={`rh-wires rh-air${broken ? ' rh-air-broken' : ''}`}
      viewBox="0 0 120 60"
      aria-hidden="true"
    >
      {[0, 1, 2, 3].map(i => (
        <path key={i} d={`M${26 + i * 20} ${22 - i * 3}q${8 + i * 2} ${8 + i * 3} 0 ${16 + i * 6}`} />
      ))}
    </svg>
  )
}
