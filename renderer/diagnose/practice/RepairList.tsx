import { useState } from 'react'
import type { RepairToDo } from '../../../shared/diagnose/exercise.ts'
import { Button } from '../../ui/Button.tsx'
import { TextField } from '../../ui/Field.tsx'
import { Caution } from '../Caution.tsx'
import { minuteWords } from '../words.ts'
import { PracticeTag } from './PracticeTag.tsx'
import { foundRepairs, partWords, repairsByPart } from './repair-groups.ts'

export interface RepairListProps {
  readonly repairs: readonly RepairToDo[]
  readonly tryMinutes: number
  readonly onRepair: (cause: string) => void
}

/** All that can be put right, by where it sits; all of it, so that the list gives nothing away. */
export function RepairList({ repairs, tryMinutes, onRepair }: RepairListProps) {
  const [find, setFind] = useState('')
  const found = foundRepairs(repairs, find)
  const rows = (some: readonly RepairToDo[]) => (
    <ul>
      {some.map(one => (
        <Row key={one.cause} repair={one} onRepair={() => onRepair(one.cause)} />
      ))}
    </ul>
  )
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a box that scrolls has to be reachable by keyboard
    <section className="dg-column" aria-labelledby="pr-repairs-title" tabIndex={0}>
      <div className="dg-list">
        <h2 id="pr-repairs-title">
          What you can repair <PracticeTag />
        </h2>
        <p className="dg-soft dg-small">
          After each repair the update is tried again, which takes {minuteWords(tryMinutes)} more.
        </p>
        <div className="pr-find">
          <TextField label="Find a repair" value={find} onChange={setFind} />
        </div>
        {found === undefined ? (
          repairsByPart(repairs).map(([part, some]) => (
            <details key={part} className="pr-part">
              <summary>
                <span>
                  {partWords[part]} <span className="dg-soft">({some.length})</span>
                </span>
                {some.some(r => r.isDone) && <span className="dg-soft dg-small">something done</span>}
              </summary>
              {rows(some)}
            </details>
          ))
        ) : found.length === 0 ? (
          <p className="dg-soft">No repair has these words in it.</p>
        ) : (
          rows(found)
        )}
      </div>
    </section>
  )
}

function Row({ repair: one, onRepair }: { readonly repair: RepairToDo; readonly onRepair: () => void }) {
  const { label, repair, minutes, reversible, caution, isDone } = one
  const word = isDone ? 'Do it again' : 'Do it'
  return (
    <li className="dg-fact pr-row">
      <div className="pr-row-words">
        <p>{label}</p>
        <p className="dg-soft dg-small">
          {repair}{' '}
          <span className="dg-cost">
            {minuteWords(minutes)}
            {reversible ? '' : '; it cannot be undone'}.{isDone && ' Done.'}
          </span>
        </p>
        {caution !== null && <Caution>{caution}</Caution>}
      </div>
      <Button aria-label={`${word}: ${label}`} onClick={onRepair}>
        {word}
      </Button>
    </li>
  )
}
