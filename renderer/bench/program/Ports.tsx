import { type FormEvent, useId, useState } from 'react'
import type { PortInfo } from '../../../shared/api/ports.ts'
import { Button } from '../../ui/Button.tsx'
import { ProblemList } from '../../ui/Notice.tsx'
import { StatusMark } from '../../ui/StatusMark.tsx'
import { useReturnFocus } from '../../ui/use-return-focus.ts'
import { MOST_LANES } from './draft.ts'
import type { PortsDesk } from './use-ports.ts'
import { latencyWords, portName, sayPortState } from './words.ts'

export interface PortsProps {
  readonly desk: PortsDesk
  /** Several may be chosen, for a batch. */
  readonly many: boolean
  readonly chosen: readonly string[]
  /** Places that a write goes through right now. */
  readonly live: readonly string[]
  readonly onChoose: (places: readonly string[]) => void
}

/** What ports there are, with what each is and whether it can be used; one is chosen, or several. */
export function Ports({ desk, many, chosen, live, onChoose }: PortsProps) {
  const { ports } = desk
  const choose = (place: string, isChosen: boolean) => {
    if (!many) return onChoose([place])
    const others = chosen.filter(one => one !== place)
    onChoose(isChosen ? [...others, place].slice(0, MOST_LANES) : others)
  }
  const gone = ports === undefined ? [] : chosen.filter(place => !ports.some(p => p.place === place))
  return (
    <div className="pg-ports">
      {ports === undefined ? (
        <p className="pg-soft">Looking for ports…</p>
      ) : ports.length === 0 ? (
        <p>
          No adapter is plugged in. Plug yours in, and it appears here by itself; or type in a serial server
          or a path below.
        </p>
      ) : (
        <ul className="pg-port-list" aria-label="Ports">
          {ports.map(port => (
            <PortRow
              key={port.place}
              port={port}
              many={many}
              isChosen={chosen.includes(port.place)}
              isLive={live.includes(port.place)}
              onChoose={isChosen => choose(port.place, isChosen)}
              desk={desk}
            />
          ))}
        </ul>
      )}
      {many && chosen.length >= MOST_LANES && (
        <p className="pg-soft">
          These are {MOST_LANES}, and no more go at once. To take another, leave one out.
        </p>
      )}
      {gone.map(place => (
        <p key={place} className="pg-soft">
          {place} was used last, and is not here now.{' '}
          {many && (
            <Button kind="quiet" onClick={() => choose(place, false)}>
              Leave {place} out
            </Button>
          )}
        </p>
      ))}
      {desk.problems.length > 0 && <ProblemList problems={desk.problems} />}
      <AddPort desk={desk} onAdded={place => choose(place, true)} />
    </div>
  )
}

interface PortRowProps {
  readonly port: PortInfo
  readonly many: boolean
  readonly isChosen: boolean
  readonly isLive: boolean
  readonly onChoose: (isChosen: boolean) => void
  readonly desk: PortsDesk
}

function PortRow({ port, many, isChosen, isLive, onChoose, desk }: PortRowProps) {
  const id = useId()
  const [isNaming, setNaming] = useState(false)
  const opener = useReturnFocus<HTMLButtonElement>(isNaming)
  const said = sayPortState(port)
  return (
    <li className={isChosen ? 'pg-port pg-port-chosen' : 'pg-port'}>
      <input
        id={id}
        type={many ? 'checkbox' : 'radio'}
        name="pg-port"
        checked={isChosen}
        aria-describedby={`${id}-about`}
        onChange={e => onChoose(e.target.checked)}
      />
      <div className="pg-port-words">
        <label htmlFor={id}>
          <strong>{portName(port)}</strong> <span className="pg-soft">{port.what}</span>
        </label>
        <p id={`${id}-about`} className="pg-small pg-soft">
          {port.name === undefined ? '' : `${port.place}. `}
          {port.kind === 'typed' ? '' : `${sentence(port.can)} `}
          {port.state !== 'absent' && `It ${latencyWords(port.latencyMs)} (${port.latencyFrom}).`}
        </p>
        {port.remedy !== undefined && !isLive && (
          <p className="pg-small">
            <strong>What to do:</strong> {port.remedy}
          </p>
        )}
        {isNaming && <NameForm port={port} desk={desk} onDone={() => setNaming(false)} />}
      </div>
      <div className="pg-port-acts">
        {isLive ? (
          <StatusMark status="caution">writing now</StatusMark>
        ) : (
          <StatusMark status={said.status}>{said.word}</StatusMark>
        )}
        {!isNaming && (
          <Button
            ref={opener}
            kind="quiet"
            aria-label={`Name ${portName(port)}`}
            onClick={() => setNaming(true)}
          >
            {port.name === undefined ? 'Give it a name' : 'Rename'}
          </Button>
        )}
        {port.isTyped && !isLive && (
          <Button
            kind="quiet"
            aria-label={`Take ${port.place} off the list`}
            onClick={() => desk.remove(port.place)}
          >
            Remove
          </Button>
        )}
      </div>
    </li>
  )
}

const sentence = (text: string): string => `${text.charAt(0).toUpperCase()}${text.slice(1)}.`

interface NameFormProps {
  readonly port: PortInfo
  readonly desk: PortsDesk
  readonly onDone: () => void
}

function NameForm({ port, desk, onDone }: NameFormProps) {
  const [name, setName] = useState(port.name ?? '')
  const id = useId()
  const save = (event: FormEvent) => {
    event.preventDefault()
    desk.name(port.place, name)
    onDone()
  }
  return (
    <form className="pg-name" onSubmit={save} onKeyDown={e => e.key === 'Escape' && onDone()}>
      <label htmlFor={id}>Its name</label>
      <input
        id={id}
        className="ui-input"
        maxLength={60}
        value={name}
        // biome-ignore lint/a11y/noAutofocus: it was asked for just now
        autoFocus
        aria-describedby={`${id}-stays`}
        onChange={e => setName(e.target.value)}
      />
      <Button type="submit">Keep</Button>
      <Button kind="quiet" onClick={onDone}>
        Cancel
      </Button>
      <p id={`${id}-stays`} className="pg-small pg-soft">
        {port.nameStays}
      </p>
    </form>
  )
}

interface AddPortProps {
  readonly desk: PortsDesk
  /** Whoever types a port in means to use it. */
  readonly onAdded: (place: string) => void
}

function AddPort({ desk, onAdded }: AddPortProps) {
  const [typed, setTyped] = useState('')
  const id = useId()
  const add = async (event: FormEvent) => {
    event.preventDefault()
    const place = await desk.add(typed)
    if (place === undefined) return
    setTyped('')
    onAdded(place)
  }
  return (
    <details className="pg-add">
      <summary>A serial server, or a path that is not listed</summary>
      <form onSubmit={add}>
        <label htmlFor={id}>Server and its port, or a path</label>
        <div className="pg-line">
          <input
            id={id}
            className="ui-input mono"
            value={typed}
            placeholder="workshop.local:2217"
            spellCheck={false}
            autoComplete="off"
            onChange={e => setTyped(e.target.value)}
          />
          <Button type="submit" disabled={typed.trim() === ''}>
            Add
          </Button>
        </div>
      </form>
    </details>
  )
}
