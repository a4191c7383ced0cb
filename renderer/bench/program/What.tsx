import { useId, useState } from 'react'
import type { DialectListed } from '../../../shared/api/dialects.ts'
import { MOST_DIALECT_CHARACTERS } from '../../../shared/dialect/schema.ts'
import type { Problem } from '../../../shared/model/problem.ts'
import { Button } from '../../ui/Button.tsx'
import { ProblemList, problemsOf } from '../../ui/Notice.tsx'
import { type TakenFile, TextFile } from './TextFile.tsx'
import type { DialectsDesk } from './use-dialects.ts'

export interface WhatProps {
  readonly desk: DialectsDesk
  /** What the type of the receiver speaks, in words, where somebody has looked it up. */
  readonly said: string | undefined
  readonly dialect: string | undefined
  readonly baud: number | undefined
  /** The rate where none is chosen. */
  readonly usual: number | undefined
  readonly onDialect: (name: string) => void
  readonly onBaud: (baud: number | undefined) => void
  /** To the text of a dialect, with its test. */
  readonly onEdit: (name: string | undefined) => void
}

const GROUPS = [
  ['built-in', 'Built in'],
  ['demo', 'The demo’s'],
  ['file', 'Your own files'],
] as const

/** How it is written: what the boot loader speaks, and how fast. */
export function What({ desk, said, dialect, baud, usual, onDialect, onBaud, onEdit }: WhatProps) {
  const [problems, setProblems] = useState<readonly Problem[]>([])
  const chosen = desk.dialects.find(one => one.name === dialect)
  const id = useId()
  const take = async (taken: TakenFile) => {
    if (!taken.ok) return setProblems([taken.problem])
    try {
      const { name } = await desk.save(taken.text)
      setProblems([])
      onDialect(name)
    } catch (error) {
      setProblems(problemsOf(error).map(problem => ({ ...problem, file: taken.fileName })))
    }
  }
  return (
    <div className="pg-what">
      <div className="pg-fields">
        <div className="ui-field pg-grow">
          <label className="ui-field-label" htmlFor={id}>
            What the boot loader speaks
          </label>
          <select
            id={id}
            className="ui-input"
            value={dialect ?? ''}
            onChange={e => onDialect(e.target.value)}
          >
            {dialect === undefined && (
              <option value="" disabled>
                choose one
              </option>
            )}
            {dialect !== undefined && chosen === undefined && (
              <option value={dialect}>{dialect} (no longer there)</option>
            )}
            {GROUPS.map(([from, label]) => (
              <Group key={from} label={label} dialects={desk.dialects.filter(one => one.from === from)} />
            ))}
          </select>
        </div>
        <Baud rates={chosen?.baud ?? []} usual={usual} baud={baud} onBaud={onBaud} />
      </div>
      {said !== undefined && <p>{said}</p>}
      {chosen !== undefined && <About dialect={chosen} />}
      <div className="app-buttons">
        {chosen !== undefined && (
          <Button onClick={() => onEdit(chosen.name)}>
            {chosen.from === 'file' ? 'Edit and test it' : 'See its source'}
          </Button>
        )}
        <TextFile
          mostOctets={4 * MOST_DIALECT_CHARACTERS}
          accept=".json,application/json"
          label="Dialect file"
          openWords="Import a dialect file…"
          onTaken={take}
        />
        <Button kind="quiet" onClick={() => onEdit(undefined)}>
          Write a new dialect
        </Button>
      </div>
      {problems.length > 0 && <ProblemList problems={problems} onClose={() => setProblems([])} />}
      {desk.problems.length > 0 && <ProblemList problems={desk.problems} />}
      {desk.broken.map(({ fileName, problems: wrong }) => (
        <ProblemList key={fileName} problems={wrong.map(p => ({ file: fileName, ...p }))} />
      ))}
    </div>
  )
}

interface GroupProps {
  readonly label: string
  readonly dialects: readonly DialectListed[]
}

const Group = ({ label, dialects }: GroupProps) =>
  dialects.length === 0 ? null : (
    <optgroup label={label}>
      {dialects.map(({ name, title }) => (
        <option key={name} value={name}>
          {title}
        </option>
      ))}
    </optgroup>
  )

interface BaudProps {
  readonly rates: readonly number[]
  readonly usual: number | undefined
  readonly baud: number | undefined
  readonly onBaud: (baud: number | undefined) => void
}

function Baud({ rates, usual, baud, onBaud }: BaudProps) {
  const id = useId()
  const all = baud === undefined || rates.includes(baud) ? rates : [baud, ...rates]
  return (
    <div className="ui-field">
      <label className="ui-field-label" htmlFor={id}>
        Rate
      </label>
      <select
        id={id}
        className="ui-input"
        value={baud ?? ''}
        onChange={e => onBaud(e.target.value === '' ? undefined : Number(e.target.value))}
      >
        <option value="">the usual one{usual === undefined ? '' : `, ${usual} baud`}</option>
        {all
          .filter(rate => rate !== usual)
          .map(rate => (
            <option key={rate} value={rate}>
              {rate} baud
            </option>
          ))}
      </select>
    </div>
  )
}

const verifies: Readonly<Record<DialectListed['can']['verify'], string>> = {
  'read-back': 'reads every octet back and compares it',
  digest: 'has the receiver check what it holds',
  none: 'cannot check what the receiver holds',
}

/** What this dialect can do and cannot, and where it is from: what can be proven depends on it. */
function About({ dialect: { can, notes, source, oneWire } }: { readonly dialect: DialectListed }) {
  const does = [
    can.identify ? 'asks the receiver who it is' : 'cannot ask the receiver who it is',
    can.backup ? 'keeps a copy of what is there first' : 'cannot keep a copy of what is there',
    verifies[can.verify],
    can.prove ? 'and shows that the new image runs' : 'and cannot show that the new image runs',
  ]
  return (
    <div className="pg-about">
      <p>
        It {does.join(', ')}. {oneWire ? 'It speaks over one wire, in turns.' : 'It speaks over two wires.'}
      </p>
      {!can.prove && (
        <p>
          <strong>So a write ends as “sent and accepted, not proven”</strong>, and you look at the receiver
          yourself.
        </p>
      )}
      {notes !== null && <p>{notes}</p>}
      <p className="pg-small pg-soft">
        Made from: {source.text}, {source.date}.
      </p>
    </div>
  )
}
