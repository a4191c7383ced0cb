import type { PinRole } from '../../shared/model/catalogue.ts'
import {
  type DrawnConnector,
  HOUSING,
  layOut,
  PIN_CENTRE_Y,
  type PinPlace,
  sayConnector,
  sayKey,
} from './connector-layout.ts'
import './connector.css'

export interface ConnectorDrawingProps {
  /** May still be half typed: a mark may be empty, and there may be no pin yet. */
  readonly connector: DrawnConnector
  /** Width of one pin on the screen, in pixels. */
  readonly size?: number
  /** Pins to point out, counted from 1. */
  readonly highlight?: readonly number[]
  /** Without the sentences below, where the place beside it says them. */
  readonly bare?: boolean
}

/**
 * A connector as one sees it when looking at its mating face with the key up. What a pin carries is said by shape and
 * word: a disc for the signal, with an arrow where it goes one way only (up: sent, down: heard), a square with a plus, a bar
 * with a minus, an empty ring for a pin that is not used.
 */
export function ConnectorDrawing({ connector, size = 60, highlight = [], bare }: ConnectorDrawingProps) {
  const { width, height, pins } = layOut(connector)
  return (
    <figure className="ui-connector">
      <svg
        viewBox={`0 0 ${width} ${height}`}
        width={(width * size) / 60}
        role="img"
        aria-label={sayConnector(connector)}
      >
        <Housing width={width} keyed={connector.keyed} />
        {pins.map(pin => (
          <Pin key={pin.number} pin={pin} pointedOut={highlight.includes(pin.number)} />
        ))}
      </svg>
      {!bare && (
        <figcaption>
          Seen on the mating face{connector.keyed === true ? ' with the key up' : ''}.{' '}
          {sayKey(connector.keyed)}
        </figcaption>
      )}
    </figure>
  )
}

function Housing({ width, keyed }: { readonly width: number; readonly keyed: DrawnConnector['keyed'] }) {
  const { x, y, height } = HOUSING
  const middle = width / 2
  const key = `M${middle - 16} ${y}V${y - 10}H${middle + 16}V${y}`
  return (
    <>
      <rect className="ui-connector-housing" x={x} y={y} width={width - 2 * x} height={height} rx="6" />
      {keyed === true && <path className="ui-connector-key" d={`${key}Z`} />}
      {keyed !== true && keyed !== false && (
        <>
          <path className="ui-connector-key-unknown" d={key} />
          <text className="ui-connector-small" x={middle + 22} y={y - 4} textAnchor="start">
            key not known
          </text>
        </>
      )}
      {keyed === false && (
        <text className="ui-connector-small" x={middle} y={y - 6} textAnchor="middle">
          no key
        </text>
      )}
    </>
  )
}

/** A pin that carries no supply, with its sign. */
const ring = (sign: string) => (
  <>
    <circle className="ui-connector-pin" r="15" />
    <path className="ui-connector-sign" d={sign} />
  </>
)

const shapes: Readonly<Record<PinRole, React.ReactElement>> = {
  signal: ring('M-9 4H-4V-5H4V4H9'),
  positive: (
    <>
      <rect className="ui-connector-pin" x="-14" y="-14" width="28" height="28" />
      <path className="ui-connector-sign" d="M-8 0H8M0 -8V8" />
    </>
  ),
  negative: (
    <>
      <rect className="ui-connector-pin ui-connector-full" x="-17" y="-9" width="34" height="18" rx="2" />
      <path className="ui-connector-sign ui-connector-sign-light" d="M-8 0H8" />
    </>
  ),
  transmit: ring('M0 8V-7M-6 -1 0 -7 6 -1'),
  receive: ring('M0 -8V7M-6 1 0 7 6 1'),
  boot: ring('M-7 -6H7M-7 0H7M0 0V8'),
  reset: ring('M6 -5A8 8 0 1 0 8 2M6 -10V-4H0'),
  'not-used': <circle className="ui-connector-pin ui-connector-empty" r="12" />,
}

/** What a pin carries, as its shape around the origin, for other drawings with pins. */
export const PinGlyph = ({ role }: { readonly role: PinRole }) => shapes[role]

function Pin({ pin, pointedOut }: { readonly pin: PinPlace; readonly pointedOut: boolean }) {
  return (
    <>
      {pointedOut && (
        <rect className="ui-connector-pointed" x={pin.x - 27} y="22" width="54" height="60" rx="4" />
      )}
      <g transform={`translate(${pin.x} ${PIN_CENTRE_Y - 6})`}>{shapes[pin.role]}</g>
      <text className="ui-connector-small" x={pin.x} y="80" textAnchor="middle">
        {pin.number}
      </text>
      <text className="ui-connector-mark" x={pin.x} y="104" textAnchor="middle">
        {pin.mark}
      </text>
      <text className="ui-connector-small" x={pin.x} y="120" textAnchor="middle">
        {pin.words}
      </text>
    </>
  )
}
