import type { AntennaKind } from '../../../shared/model/looks.ts'
import { antennaEnds, type Box, caseBox, type Outline, outputRows, PICTURE } from './outline.ts'

export interface ReceiverPictureProps {
  readonly outline: Outline
  /** The part that the question is about. */
  readonly about?: 'antennas' | 'outputs' | 'all'
  /** Only the end that the antennas come out of, larger. */
  readonly isNear?: boolean
}

/** Two thirds of the picture, in the same shape. */
const NEAR = `0 ${PICTURE.height / 6} ${(PICTURE.width * 2) / 3} ${(PICTURE.height * 2) / 3}`

/** No particular receiver: an outline with what is asked for drawn on it. */
export function ReceiverPicture({ outline, about = 'all', isNear }: ReceiverPictureProps) {
  const box = caseBox(outline)
  const { antennas, outputs } = outline
  return (
    <svg
      className="fw-drawing"
      viewBox={isNear ? NEAR : `0 0 ${PICTURE.width} ${PICTURE.height}`}
      aria-hidden="true"
      focusable="false"
    >
      {antennas !== undefined && (
        <g className={about === 'antennas' ? 'fw-drawing-about' : undefined}>
          {antennaEnds(box, antennas.count).map(end => (
            <Antenna key={end.from} x={box.x} {...end} kind={antennas.kind} />
          ))}
        </g>
      )}
      <Case box={box} />
      {antennas?.kind === 'none' && <HiddenAntenna box={box} />}
      {outputs !== undefined && (
        <g className={about === 'outputs' ? 'fw-drawing-about' : undefined}>
          {outputRows(box, outputs).map(({ x, y, size }) =>
            [0, 1, 2].map(pin => (
              <rect
                key={`${x} ${y} ${pin}`}
                className="fw-drawing-pin"
                x={x + pin * 5}
                y={y - size / 2}
                width={size}
                height={size}
              />
            )),
          )}
        </g>
      )}
    </svg>
  )
}

const Case = ({ box }: { readonly box: Box }) => (
  <>
    <rect className="fw-drawing-case" {...box} rx="3" />
    <path className="fw-drawing-thin" d={`M${box.x + 8} ${box.y + box.height - 6}h${box.width / 4}`} />
  </>
)

/** On the board, under the cover: dashed, as what is hidden is drawn. */
const HiddenAntenna = ({ box }: { readonly box: Box }) => (
  <rect className="fw-drawing-hidden" x={box.x + 6} y={box.y + 6} width="14" height="8" />
)

interface AntennaProps {
  readonly x: number
  readonly from: number
  readonly to: number
  readonly kind: AntennaKind | undefined
}

/** From the case to the left, each kind by its shape. */
export function Antenna({ x, from, to, kind }: AntennaProps) {
  if (kind === 'stub')
    return <rect className="fw-drawing-solid" x={x - 20} y={from - 3.5} width="20" height="7" rx="3" />
  if (kind === 'none') return null
  const end = 4
  const bend = `C${x - 10} ${from} ${x - 8} ${to} ${x - 18} ${to}`
  if (kind === 'coaxial')
    return (
      <>
        <path className="fw-drawing-cable" d={`M${x} ${from}${bend}`} />
        <path className="fw-drawing-core" d={`M${x} ${from}${bend}`} />
        <path className="fw-drawing-wire" d={`M${x - 18} ${to}H${end}`} />
      </>
    )
  if (kind === 'sleeve')
    return (
      <>
        <path className="fw-drawing-wire" d={`M${x} ${from}${bend}`} />
        <rect
          className="fw-drawing-solid"
          x={end - 2}
          y={to - 3.5}
          width={x - 16 - end}
          height="7"
          rx="1.5"
        />
      </>
    )
  return <path className="fw-drawing-wire" d={`M${x} ${from}${bend}H${end}`} />
}
