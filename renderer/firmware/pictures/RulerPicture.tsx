import { PICTURE } from './outline.ts'

const LEFT = 8

interface RulerProps {
  /** Pixels of the drawing for a millimetre. */
  readonly scale: number
  readonly y: number
}

/** A ruler with a mark for each centimetre and half of one. */
function Ruler({ scale, y }: RulerProps) {
  const halves = Math.floor((PICTURE.width - LEFT - 4) / (scale * 5))
  const marks = Array.from({ length: halves + 1 }, (_, i) => i)
  return (
    <g>
      <rect className="fw-drawing-ruler" x={LEFT - 4} y={y} width={PICTURE.width - LEFT} height="24" />
      {marks.map(i => (
        <path
          key={i}
          className="fw-drawing-thin"
          d={`M${LEFT + i * 5 * scale} ${y}v${i % 2 === 0 ? 9 : 5}`}
        />
      ))}
      {marks
        .filter(i => i > 0 && i % 2 === 0 && LEFT + i * 5 * scale < PICTURE.width - 8)
        .map(i => (
          <text key={i} className="fw-drawing-text" x={LEFT + i * 5 * scale} y={y + 19} textAnchor="middle">
            {i / 2}
          </text>
        ))}
    </g>
  )
}

/** A case of this length held against a ruler in centimetres. */
export function LengthPicture({ millimetres }: { readonly millimetres: number }) {
  const scale = Math.min(1.7, (PICTURE.width - LEFT - 8) / (millimetres + 8))
  const width = millimetres * scale
  return (
    <svg
      className="fw-drawing"
      viewBox={`0 0 ${PICTURE.width} ${PICTURE.height}`}
      aria-hidden="true"
      focusable="false"
    >
      <rect className="fw-drawing-case" x={LEFT} y="8" width={width} height="34" rx="3" />
      <Ruler scale={scale} y={50} />
      <path className="fw-drawing-measure" d={`M${LEFT + width} 4V60`} />
    </svg>
  )
}

/** The end of an antenna held against a ruler in centimetres: its bared part is so long. */
export function TipPicture({ millimetres }: { readonly millimetres: number }) {
  const scale = 1.25
  const tip = LEFT + millimetres * scale
  return (
    <svg
      className="fw-drawing"
      viewBox={`0 0 ${PICTURE.width} ${PICTURE.height}`}
      aria-hidden="true"
      focusable="false"
    >
      <path className="fw-drawing-cable" d={`M${tip} 28H${PICTURE.width - 2}`} />
      <path className="fw-drawing-core" d={`M${tip} 28H${PICTURE.width - 2}`} />
      <path className="fw-drawing-tip" d={`M${LEFT} 28H${tip}`} />
      <Ruler scale={scale} y={46} />
      <path className="fw-drawing-measure" d={`M${tip} 18V56`} />
    </svg>
  )
}

/** Where the hardware revision stands: on the label, or on the edge of the board. */
export function RevisionPicture({ revision }: { readonly revision: string }) {
  const short = revision.length > 6 ? `${revision.slice(0, 5)}…` : revision
  return (
    <svg
      className="fw-drawing"
      viewBox={`0 0 ${PICTURE.width} ${PICTURE.height}`}
      aria-hidden="true"
      focusable="false"
    >
      <rect className="fw-drawing-case" x="14" y="10" width="104" height="60" rx="4" />
      <rect className="fw-drawing-label" x="24" y="18" width="84" height="44" rx="2" />
      <path className="fw-drawing-thin" d="M32 28H78M32 35H92M32 50H58" />
      <rect className="fw-drawing-mark" x="66" y="41" width="36" height="17" rx="2" />
      <text className="fw-drawing-large" x="84" y="54" textAnchor="middle">
        {short}
      </text>
    </svg>
  )
}
