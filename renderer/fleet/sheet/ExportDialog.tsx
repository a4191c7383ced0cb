import { useMemo, useState } from 'react'
import type { Bench } from '../../../shared/model/bench.ts'
import type { Problem } from '../../../shared/model/problem.ts'
import { allKeys, goesAlong, makeSheet, writeSheet } from '../../../shared/sheet/make-sheet.ts'
import { type EntryKey, keyOf, SHEET_KINDS, type SheetKind } from '../../../shared/sheet/type-sheet.ts'
import { Button } from '../../ui/Button.tsx'
import { Dialog } from '../../ui/Dialog.tsx'
import { TextField } from '../../ui/Field.tsx'
import { ProblemList } from '../../ui/Notice.tsx'
import { saveText } from '../../ui/save-text.ts'
import { kinds, listOf, nameOf } from '../kinds.ts'
import type { Memory } from '../memory.ts'
import { sheetFileName } from './read-file.ts'
import './sheet.css'

export interface ExportDialogProps {
  readonly bench: Bench
  /** What is ticked at first; everything where nothing is said. */
  readonly chosen: EntryKey | undefined
  /** Today, as `2026-11-25`. */
  readonly today: string
  readonly memory: Memory
  readonly onDone: (fileName: string) => void
  readonly onClose: () => void
}

const ORDER: readonly SheetKind[] = SHEET_KINDS.toSorted(
  (a, b) => Number(a === 'connectors') - Number(b === 'connectors'),
)

/** Writes types down for somebody else: all, or chosen ones with what they refer to. */
export function ExportDialog({ bench, chosen, today, memory, onDone, onClose }: ExportDialogProps) {
  const { catalogue } = bench
  const [keys, setKeys] = useState<ReadonlySet<string>>(
    () => new Set((chosen ? [chosen] : allKeys(catalogue)).map(keyOf)),
  )
  const [title, setTitle] = useState(() =>
    chosen ? nameOf(chosen.kind, listOf(bench, chosen.kind).find(e => e.id === chosen.id)!) : bench.name,
  )
  const [author, setAuthor] = useState(memory.getItem('sheet-author') ?? '')
  const [date, setDate] = useState(today)
  const [problems, setProblems] = useState<readonly Problem[]>([])
  const picked = useMemo(() => allKeys(catalogue).filter(key => keys.has(keyOf(key))), [catalogue, keys])
  const along = useMemo(() => new Set(goesAlong(catalogue, picked).map(keyOf)), [catalogue, picked])
  const tick = (some: readonly string[], on: boolean) => {
    const next = new Set(keys)
    for (const key of some) on ? next.add(key) : next.delete(key)
    setKeys(next)
  }
  const errorAt = (field: string) => {
    const problem = problems.find(p => p.field === field)
    return problem && `${problem.message}${problem.expected ? ` Expected: ${problem.expected}.` : ''}`
  }
  const submit = () => {
    const made = makeSheet(catalogue, picked, {
      title,
      ...(author.trim() === '' ? {} : { author }),
      date,
    })
    if (!made.ok) return setProblems(made.problems)
    memory.setItem('sheet-author', author)
    const fileName = sheetFileName(made.value.title)
    saveText(fileName, writeSheet(made.value))
    onDone(fileName)
  }
  const count = picked.length + along.size
  const general = problems.filter(p => !/^(title|author|date)$/.test(p.field ?? ''))
  return (
    <Dialog
      wide
      title="Export types"
      lead="A type sheet is a file that you can send to others. It holds what is ticked, and where each claim comes from."
      onClose={onClose}
      onSubmit={submit}
      foot={
        <>
          <p className="ui-spring" role="status">
            {count === 0 ? 'Tick at least one type.' : `${count} in the sheet`}
            {along.size > 0 && `, ${along.size} of them because the others need them`}
          </p>
          <Button onClick={onClose}>Cancel</Button>
          <Button type="submit" kind="primary" disabled={count === 0}>
            Write the sheet
          </Button>
        </>
      }
    >
      <div className="sheet-stack">
        {general.length > 0 && <ProblemList problems={general} />}
        <div className="sheet-head-fields">
          <TextField label="Title" value={title} error={errorAt('title')} onChange={setTitle} />
          <TextField
            label="Your name"
            optional
            value={author}
            error={errorAt('author')}
            onChange={setAuthor}
          />
          <TextField label="Date" value={date} error={errorAt('date')} onChange={setDate} />
        </div>
        <div className="sheet-tools">
          <Button kind="quiet" onClick={() => tick(allKeys(catalogue).map(keyOf), true)}>
            Tick all
          </Button>
          <Button kind="quiet" onClick={() => setKeys(new Set())}>
            Tick none
          </Button>
        </div>
        {ORDER.filter(kind => catalogue[kind].length > 0).map(kind => (
          <fieldset key={kind} className="sheet-ticks">
            <legend>{kinds[kind].many}</legend>
            {listOf(bench, kind).map(entry => {
              const key = keyOf({ kind, id: entry.id })
              const goes = along.has(key)
              return (
                <label key={key} className="ui-check">
                  <input
                    type="checkbox"
                    checked={goes || keys.has(key)}
                    disabled={goes}
                    onChange={e => tick([key], e.target.checked)}
                  />
                  <span>
                    {nameOf(kind, entry)}
                    {goes && <em>goes along</em>}
                  </span>
                </label>
              )
            })}
          </fieldset>
        ))}
      </div>
    </Dialog>
  )
}
