import { isGap, type Line, type Stop, wayWords } from './line.ts'

export interface VersionLineProps {
  readonly line: Line
  readonly typeName: string
  readonly nameOf: (id: string) => string
  readonly onChoose: (id: string) => void
}

type Mark = 'runs' | 'chosen' | 'step' | 'plain'

function markOf(stop: Stop): Mark {
  if (stop.chosen) return 'chosen'
  if (stop.stepOnWay > 0) return 'step'
  return stop.runsNow ? 'runs' : 'plain'
}

const shapes: Readonly<Record<Mark, React.ReactElement>> = {
  plain: <circle cx="10" cy="10" r="4" className="fw-shape-open" />,
  runs: <rect x="4" y="4" width="12" height="12" className="fw-shape-full" />,
  chosen: (
    <>
      <circle cx="10" cy="10" r="8" className="fw-shape-open" />
      <circle cx="10" cy="10" r="4" className="fw-shape-full" />
    </>
  ),
  step: <path d="M10 1.5 18.5 10 10 18.5 1.5 10Z" className="fw-shape-full" />,
}

function wordsOf(stop: Stop): string[] {
  return [
    ...(stop.runsNow ? ['runs now'] : []),
    ...(stop.chosen ? ['chosen'] : []),
    ...(stop.stepOnWay > 0 && !stop.chosen ? [`step ${stop.stepOnWay} on the way`] : []),
    ...(stop.convertsFrom !== undefined && stop.generation !== undefined
      ? [`converts ${stop.convertsFrom} to ${stop.generation}`]
      : []),
    ...(stop.needs !== undefined ? [`needs ${stop.needs}`] : []),
    ...(stop.imageId === undefined ? ['no image here'] : []),
    ...(stop.images > 1 ? [`${stop.images} images`] : []),
  ]
}

/** The versions of a type from old to new: what the receiver runs, what is chosen, what lies between. */
export function VersionLine({ line, typeName, nameOf, onChoose }: VersionLineProps) {
  const way = wayWords(line, nameOf)
  return (
    <section className="fw-line" aria-label={`Versions for ${typeName}`}>
      <header>
        <h2>Versions for {typeName}</h2>
        <p className={line.path?.ok === false ? 'fw-line-no' : undefined}>{way}</p>
      </header>
      {line.parts.length === 0 ? (
        <p className="fw-soft">There is no image for this type yet.</p>
      ) : (
        // biome-ignore lint/a11y/noNoninteractiveTabindex: it scrolls, so the keyboard has to get to it
        <ol className="fw-stops" tabIndex={0} aria-label="From the oldest to the newest">
          {line.runsUnknown && (
            <li className="fw-stop fw-stop-unknown">
              <Sign mark="plain" />
              <strong>not known</strong>
              <span>what the receiver runs</span>
            </li>
          )}
          {line.parts.map((part, i) =>
            isGap(part) ? (
              // biome-ignore lint/suspicious/noArrayIndexKey: a gap has no other name
              <li key={`gap-${i}`} className="fw-stop fw-stop-gap">
                <span>{part.leftOut} more</span>
              </li>
            ) : (
              <StopItem key={part.imageId ?? 'running'} stop={part} onChoose={onChoose} />
            ),
          )}
        </ol>
      )}
    </section>
  )
}

function Sign({ mark }: { readonly mark: Mark }) {
  return (
    <svg viewBox="0 0 20 20" className="fw-sign" aria-hidden="true" focusable="false">
      {shapes[mark]}
    </svg>
  )
}

function StopItem({ stop, onChoose }: { readonly stop: Stop; readonly onChoose: (id: string) => void }) {
  const { imageId } = stop
  const inside = (
    <>
      <Sign mark={markOf(stop)} />
      <strong>{stop.version}</strong>
      {wordsOf(stop).map(word => (
        <span key={word}>{word}</span>
      ))}
    </>
  )
  return (
    <li className={`fw-stop fw-stop-${markOf(stop)}`}>
      {imageId === undefined ? (
        inside
      ) : (
        <button
          type="button"
          aria-current={stop.chosen ? 'true' : undefined}
          onClick={() => onChoose(imageId)}
        >
          {inside}
        </button>
      )}
    </li>
  )
}
