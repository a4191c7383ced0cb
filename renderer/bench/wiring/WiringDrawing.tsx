import { sayVolts } from '../../../shared/wiring/finding.ts'
import type { PinState, WireState } from '../../../shared/wiring/pins.ts'
import type { Setup } from '../../../shared/wiring/setup.ts'
import { PinGlyph } from '../../ui/ConnectorDrawing.tsx'
import { pinRoleWords } from '../../ui/connector-layout.ts'
import { StatusGlyph } from '../../ui/StatusMark.tsx'
import {
  LEFT,
  layOutWiring,
  linesBeside,
  type PlacedPin,
  type PlacedWire,
  RIGHT,
  sayWiring,
  WIDTH,
} from './layout.ts'
import { adapterRoleWords, verdictWords } from './words.ts'
import './wiring.css'

export interface WiringDrawingProps {
  readonly setup: Setup
  readonly pins: readonly PinState[]
  readonly wires: readonly WireState[]
  readonly voltsOfAdapterPin: (pin: number) => number | undefined
  /** What a finding is about, pointed out. */
  readonly pin?: number
  readonly adapterPin?: number
}

/** The adapter's connector left, the receiver's right, pin by pin, and the wires of the cable with what flows in each. */
export function WiringDrawing(props: WiringDrawingProps) {
  const { setup, pins, wires, voltsOfAdapterPin, pin, adapterPin } = props
  const { height, left, right, wires: placed } = layOutWiring(setup, wires, voltsOfAdapterPin)
  return (
    <svg
      className="wi-drawing"
      viewBox={`0 0 ${WIDTH} ${height}`}
      role="img"
      aria-label={sayWiring(setup, pins, wires)}
    >
      <Title x={8} kind="Adapter" name={setup.adapter.nickname} />
      <Title x={RIGHT.x} kind="Receiver" name={setup.receiverName} />
      <Housing at={LEFT} pins={left} />
      <Housing at={RIGHT} pins={right} />
      {placed.map(w => (
        <Wire
          key={`${w.wire.from} ${w.wire.to} ${w.y} ${w.endY}`}
          placed={w}
          pointedOut={w.wire.to === pin || (pin === undefined && w.wire.from === adapterPin)}
        />
      ))}
      {placed
        .filter(w => w.wire.state !== 'right')
        .map(w => (
          <Mark key={`${w.wire.from} ${w.wire.to} ${w.y} ${w.endY}`} placed={w} />
        ))}
      {left.map((p, i) => (
        <g key={p.pin} transform={`translate(0 ${p.y})`}>
          <PinAt x={LEFT.x + LEFT.width / 2} pin={p} pointedOut={p.pin === adapterPin} />
          <text className="wi-strong" x={LEFT.x - 10} y="-2" textAnchor="end">
            {p.pin} {p.name}
          </text>
          <text className="wi-soft" x={LEFT.x - 10} y="15" textAnchor="end">
            {adapterRoleWords[setup.adapter.pins[i].role]}
          </text>
        </g>
      ))}
      {right.map((p, i) => (
        <g key={p.pin} transform={`translate(0 ${p.y})`}>
          <PinAt x={RIGHT.x + RIGHT.width / 2} pin={p} pointedOut={p.pin === pin} />
          <Gets state={pins[i]} name={p.name} />
        </g>
      ))}
      {setup.own && (
        <g transform={`translate(${RIGHT.x} ${height - 44})`}>
          <path className="wi-own-lead" d={`M24 0V${-(height - 44 - (right.at(-1)?.y ?? 0) - 34)}`} />
          <rect className="wi-own" width="240" height="36" rx="4" />
          <text className="wi-soft" x="12" y="23">
            Fed by {setup.own.nickname}, {sayVolts(setup.own.volts)}
          </text>
        </g>
      )}
    </svg>
  )
}

interface TitleProps {
  readonly x: number
  readonly kind: string
  readonly name: string
}

function Title({ x, kind, name }: TitleProps) {
  const shown = name.length > 32 ? `${name.slice(0, 31).trimEnd()}…` : name
  return (
    <>
      <text className="wi-soft" x={x} y="14">
        {kind}
      </text>
      <text className="wi-strong" x={x} y="32">
        {shown}
      </text>
    </>
  )
}

function Housing({
  at,
  pins,
}: {
  readonly at: typeof LEFT | typeof RIGHT
  readonly pins: readonly PlacedPin[]
}) {
  const [first, last] = [pins[0]?.y ?? 0, pins.at(-1)?.y ?? 0]
  return (
    <rect className="wi-housing" x={at.x} y={first - 32} width={at.width} height={last - first + 64} rx="6" />
  )
}

function PinAt({
  x,
  pin,
  pointedOut,
}: {
  readonly x: number
  readonly pin: PlacedPin
  readonly pointedOut: boolean
}) {
  return (
    <g transform={`translate(${x} 0)`}>
      {pointedOut && <rect className="wi-pointed" x="-22" y="-27" width="44" height="54" rx="4" />}
      <PinGlyph role={pin.shape} />
    </g>
  )
}

/** From one line of small print to the next. */
const LINE = 16

/** What a pin of the receiver gets, and whether that is right, in shape and word. */
function Gets({ state, name }: { readonly state: PinState; readonly name: string }) {
  const x = RIGHT.x + RIGHT.width + 12
  const { word, status } = verdictWords[state.verdict]
  const lines = linesBeside(state.words)
  // Two lines grow to both sides, so that they stay apart from the pins above and below.
  const up = (LINE / 2) * (lines.length - 1)
  const idle =
    /^(not-used|boot|reset)$/.test(state.role) && state.verdict === 'right' && state.flow === 'none'
  return (
    <>
      <text className="wi-strong" x={x} y={-12 - up}>
        {state.pin} {name} <tspan className="wi-soft">{pinRoleWords[state.role]}</tspan>
      </text>
      {lines.map((line, i) => (
        <text key={line} className="wi-small" x={x} y={5 - up + LINE * i}>
          {line}
        </text>
      ))}
      {!idle && (
        <g className={`wi-verdict ui-status-${status}`} transform={`translate(${x} ${12 + up})`}>
          <StatusGlyph status={status} />
          <text className="wi-small" x="17" y="11">
            {word}
          </text>
        </g>
      )}
    </>
  )
}

function Wire({ placed, pointedOut }: { readonly placed: PlacedWire; readonly pointedOut: boolean }) {
  const { wire, path, y, endY, label, part } = placed
  const start = LEFT.x + LEFT.width
  return (
    <g className={`wi-wire wi-wire-${wire.state}${pointedOut ? ' wi-wire-pointed' : ''}`}>
      <path className="wi-wire-line" d={path} />
      {(wire.flow === 'in' || wire.flow === 'both') && (
        <path className="wi-arrow" d={`M${RIGHT.x - 2} ${endY}l-11 -6v12z`} />
      )}
      {(wire.flow === 'out' || wire.flow === 'both') && (
        <path className="wi-arrow" d={`M${start + 2} ${y}l11 -6v12z`} />
      )}
      <text className="wi-small wi-flow" x={start + 14} y={y - 8}>
        {label}
      </text>
      {part && <Part x={start + 92} y={y} kind={wire.through} word={part} />}
    </g>
  )
}

/** Shape and word on a wire that is not right; drawn last, so that no other wire runs over it. */
function Mark({ placed: { wire, middle } }: { readonly placed: PlacedWire }) {
  const isWrong = wire.state === 'wrong'
  return (
    <g className={`wi-mark wi-mark-${wire.state}`} transform={`translate(${middle.x} ${middle.y})`}>
      <rect x={isWrong ? -36 : -48} y="-11" width={isWrong ? 72 : 96} height="22" rx="4" />
      <g transform={`translate(${isWrong ? -30 : -42} -6)`}>
        <StatusGlyph status={isWrong ? 'danger' : 'unknown'} />
      </g>
      <text className="wi-small" x={isWrong ? -14 : -26} y="5">
        {isWrong ? 'wrong' : 'not known'}
      </text>
    </g>
  )
}

interface PartProps {
  readonly x: number
  readonly y: number
  readonly kind: WireState['through']
  readonly word: string
}

/** A resistor as a box, a diode as an arrow against its bar: IEC 60617. The ring of the diode is at the adapter's end. */
function Part({ x, y, kind, word }: PartProps) {
  return (
    <g transform={`translate(${x} ${y})`}>
      {kind === 'resistor' ? (
        <rect className="wi-part" x="-15" y="-6" width="30" height="12" />
      ) : (
        <path className="wi-part" d="M10 -8V8L-8 0ZM-8 -8V8" />
      )}
      <text className="wi-small" y="21" textAnchor="middle">
        {word}
      </text>
    </g>
  )
}
