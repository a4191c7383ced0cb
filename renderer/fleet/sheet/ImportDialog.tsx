import { useDeferredValue, useMemo, useState } from 'react'
import type { Bench } from '../../../shared/model/bench.ts'
import type { Problem } from '../../../shared/model/problem.ts'
import { type Compared, compareSheet, type Decision, decisionOf } from '../../../shared/sheet/compare.ts'
import { takeSheet } from '../../../shared/sheet/take-sheet.ts'
import { keyOf, type TypeSheet } from '../../../shared/sheet/type-sheet.ts'
import { Button } from '../../ui/Button.tsx'
import { Dialog } from '../../ui/Dialog.tsx'
import { Notice, ProblemList } from '../../ui/Notice.tsx'
import { kinds } from '../kinds.ts'
import { Consequences } from './Consequences.tsx'
import { Contested } from './Contested.tsx'
import { fieldWords } from './field-words.ts'
import './sheet.css'

export interface ImportDialogProps {
  readonly bench: Bench
  readonly sheet: TypeSheet
  readonly fileName: string
  /** What was left out of the file as not known to this version. */
  readonly warnings: readonly Problem[]
  readonly onTake: (label: string, next: Bench) => void
  readonly onClose: () => void
}

/** What a sheet would bring, sorted by what a person has to decide; nothing is done before it is said. */
export function ImportDialog({ bench, sheet, fileName, warnings, onTake, onClose }: ImportDialogProps) {
  const [decisions, setDecisions] = useState<ReadonlyMap<string, Decision>>(new Map())
  const compared = useMemo(
    () => compareSheet(bench.catalogue, sheet, decisions),
    [bench.catalogue, sheet, decisions],
  )
  const result = useMemo(() => takeSheet(bench, sheet, decisions, fieldWords), [bench, sheet, decisions])
  const shown = useDeferredValue(result)
  const decide = (one: Compared, decision: Decision) =>
    setDecisions(new Map([...decisions, [keyOf(one.key), decision]]))
  const of = (standing: Compared['standing']) => compared.filter(one => one.standing === standing)
  const [conflicts, gaps, added, same] = [of('conflict'), of('gap'), of('new'), of('same')]
  const does = result.ok ? result.value.added + result.value.changed : 0
  const theirBench = useMemo(() => ({ ...bench, catalogue: sheet }), [bench, sheet])
  const contested = (list: readonly Compared[]) =>
    list.map(one => (
      <Contested
        key={keyOf(one.key)}
        compared={one}
        decision={decisionOf(one, decisions)}
        bench={bench}
        theirBench={theirBench}
        sheet={sheet}
        onDecide={decision => decide(one, decision)}
      />
    ))
  return (
    <Dialog
      wide
      title={`Import “${sheet.title}”`}
      lead={`${fileName}${sheet.author ? `, by ${sheet.author}` : ''}, of ${sheet.date}. Nothing on the bench changes before you say so.`}
      onClose={onClose}
      onSubmit={() => result.ok && does > 0 && onTake(result.value.label, result.value.bench)}
      foot={
        <>
          <p className="ui-spring" role="status">
            {result.ok ? sayDoing(result.value) : 'This cannot be taken as it is.'}
          </p>
          <Button onClick={onClose}>Cancel</Button>
          <Button type="submit" kind="primary" disabled={!result.ok || does === 0}>
            Import
          </Button>
        </>
      }
    >
      <div className="sheet-stack">
        {sheet.note && <p>{sheet.note}</p>}
        {warnings.length > 0 && (
          <Notice kind="caution">
            {warnings.length === 1 ? 'One field is' : `${warnings.length} fields are`} of no version that this
            program knows, and left out: {warnings.map(w => `${w.field} (line ${w.line})`).join(', ')}.
          </Notice>
        )}
        {!result.ok && <ProblemList problems={result.problems} />}
        <Group
          title="In conflict"
          lead="You and the sheet say different things. Yours stays unless you choose otherwise."
          list={conflicts}
        >
          {contested(conflicts)}
        </Group>
        <Group title="Fills a gap" lead="The sheet knows what you do not." list={gaps}>
          {contested(gaps)}
        </Group>
        <Group title="New" lead="Not on your bench yet." list={added}>
          <ul className="sheet-list">
            {added.map(one => (
              <NewOne
                key={keyOf(one.key)}
                compared={one}
                taken={decisionOf(one, decisions).take === 'as-new'}
                onTake={on => decide(one, { take: on ? 'as-new' : 'nothing' })}
              />
            ))}
          </ul>
        </Group>
        {same.length > 0 && (
          <details className="sheet-same">
            <summary>The same on your bench already: {same.length}</summary>
            <ul>
              {same.map(one => (
                <li key={keyOf(one.key)}>
                  {one.name} <span>{kinds[one.key.kind].one}</span>
                </li>
              ))}
            </ul>
          </details>
        )}
        {shown.ok && does > 0 && <Consequences before={bench} after={shown.value.bench} />}
      </div>
    </Dialog>
  )
}

function sayDoing({ added, changed }: { readonly added: number; readonly changed: number }): string {
  if (added + changed === 0) return 'Nothing is chosen to be taken.'
  return [added > 0 && `Adds ${added}`, changed > 0 && `${added > 0 ? 'changes' : 'Changes'} ${changed}`]
    .filter(Boolean)
    .join(', ')
}

interface GroupProps {
  readonly title: string
  readonly lead: string
  readonly list: readonly Compared[]
  readonly children: React.ReactNode
}

function Group({ title, lead, list, children }: GroupProps) {
  if (list.length === 0) return null
  return (
    <section className="sheet-group" aria-label={title}>
      <h3>
        {title} <span>{list.length}</span>
      </h3>
      <p>{lead}</p>
      {children}
    </section>
  )
}

interface NewOneProps {
  readonly compared: Compared
  readonly taken: boolean
  readonly onTake: (on: boolean) => void
}

function NewOne({ compared, taken, onTake }: NewOneProps) {
  const { source } = compared.theirs as { source?: { text: string; date?: string } }
  return (
    <li>
      <label className="ui-check">
        <input type="checkbox" checked={taken} onChange={e => onTake(e.target.checked)} />
        {compared.name}
      </label>
      <span>{kinds[compared.key.kind].one}</span>
      <small>
        {source ? `${source.text}${source.date ? `, ${source.date}` : ''}` : 'no source of its own'}
      </small>
    </li>
  )
}
