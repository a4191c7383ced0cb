import { useRef } from 'react'
import type { Bench } from '../../shared/model/bench.ts'
import type { ReceiverUnit } from '../../shared/model/gear.ts'
import type { Route } from '../../shared/model/units.ts'
import { Button } from '../ui/Button.tsx'
import { ReceiverChoice } from '../ui/ReceiverChoice.tsx'
import type { Importing } from './use-library.ts'

/** What was done last, and the way back. */
export interface Told {
  readonly text: string
  readonly undo: () => void
}

export interface HeadProps {
  readonly bench: Bench
  readonly receiver: ReceiverUnit
  readonly route: Route
  readonly told: Told | undefined
  readonly importing: Importing | undefined
  readonly onChooseReceiver: (id: string) => void
  /** Puts one more receiver on the bench, of unknown type. */
  readonly onAddUnmarked: () => void
  readonly onRoute: (route: Route) => void
  readonly onStop: () => void
  readonly onFiles: (files: readonly File[]) => void
  readonly onCheckCard: () => void
  readonly onTold: (told: Told | undefined) => void
}

const routes: readonly (readonly [Route, string])[] = [
  ['cable', 'By cable'],
  ['wireless', 'Wireless'],
]

/** Files within archives count one by one, so there may be more of them than were chosen. */
const readingWords = ({ done, all, name }: Importing): string => {
  if (name === undefined) return `Reading ${done} of ${all}…`
  return done < all ? `Reading ${done + 1} of ${all}, ${name}…` : `${done} read, ${name}…`
}

/** For which receiver, by which route; and the way for files to come in. */
export function Head(props: HeadProps) {
  const { bench, receiver, route, told, importing } = props
  const input = useRef<HTMLInputElement>(null)
  return (
    <header className="fw-head">
      <h1>Firmware</h1>
      <ReceiverChoice
        receivers={bench.receivers}
        receiverId={receiver.id}
        onChoose={props.onChooseReceiver}
      />
      <Button
        className="fw-add"
        aria-label="Add a receiver without markings"
        title="Add a receiver without markings"
        onClick={props.onAddUnmarked}
      >
        +
      </Button>
      <fieldset className="fw-routes" aria-label="Route">
        {routes.map(([value, word]) => (
          <label key={value}>
            <input
              type="radio"
              name="fw-route"
              checked={route === value}
              onChange={() => props.onRoute(value)}
            />
            {word}
          </label>
        ))}
      </fieldset>
      <p className="fw-told" role="status">
        {importing ? (
          <>
            <span title={importing.name}>{readingWords(importing)}</span>
            <Button kind="quiet" onClick={props.onStop}>
              Stop
            </Button>
          </>
        ) : told === undefined ? null : (
          <>
            <span title={told.text}>{told.text}</span>
            <Button
              kind="quiet"
              onClick={() => {
                told.undo()
                props.onTold(undefined)
              }}
            >
              Take it back
            </Button>
          </>
        )}
      </p>
      <Button kind="quiet" onClick={props.onCheckCard}>
        What is on the card?
      </Button>
      <Button onClick={() => input.current?.click()} disabled={importing !== undefined}>
        Import images…
      </Button>
      <input
        ref={input}
        type="file"
        multiple
        hidden
        aria-label="Image files and their image cards"
        onChange={event => {
          const files = [...(event.target.files ?? [])]
          event.target.value = ''
          if (files.length > 0) props.onFiles(files)
        }}
      />
    </header>
  )
}
