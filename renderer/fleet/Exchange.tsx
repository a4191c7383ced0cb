import { useEffect, useRef } from 'react'
import type { Bench } from '../../shared/model/bench.ts'
import { type Problem, sayProblem } from '../../shared/model/problem.ts'
import { MAX_TABLE_CHARS } from '../../shared/sheet/table.ts'
import type { EntryKey, TypeSheet } from '../../shared/sheet/type-sheet.ts'
import { TABLE_KINDS, type TableKind } from '../../shared/sheet/unit-fields.ts'
import { Button } from '../ui/Button.tsx'
import { Dialog } from '../ui/Dialog.tsx'
import type { Kind } from './kinds.ts'
import type { Memory } from './memory.ts'
import { ExportDialog } from './sheet/ExportDialog.tsx'
import { ImportDialog } from './sheet/ImportDialog.tsx'
import { isSheetFile, readSheetFile, type TextFile } from './sheet/read-file.ts'
import { PasteDialog } from './table/PasteDialog.tsx'
import { SeveralDialog } from './table/SeveralDialog.tsx'

/** What comes from elsewhere or goes there: type sheets, tables, several pieces at once. */
export type Exchange =
  | { readonly what: 'export'; readonly chosen: EntryKey | undefined }
  | {
      readonly what: 'import'
      readonly sheet: TypeSheet
      readonly fileName: string
      readonly warnings: readonly Problem[]
    }
  | { readonly what: 'problems'; readonly problems: readonly Problem[] }
  | {
      readonly what: 'paste'
      readonly kind: TableKind
      readonly start?: { readonly name: string; readonly text: string }
    }
  | {
      readonly what: 'several'
      readonly kind: TableKind
      readonly typeId: string
      readonly typeName: string
      readonly stem: string
    }

export const isTableKind = (kind: Kind | 'bench'): kind is TableKind => TABLE_KINDS.some(k => k === kind)

export async function importing(file: TextFile): Promise<Exchange> {
  const read = await readSheetFile(file)
  return read.ok
    ? { what: 'import', sheet: read.value, fileName: file.name, warnings: read.warnings }
    : { what: 'problems', problems: read.problems }
}

const isTableFile = (name: string) => /\.(csv|tsv|tab)$/i.test(name)

async function pasting(file: TextFile, kind: TableKind): Promise<Exchange> {
  if (file.size > 4 * MAX_TABLE_CHARS)
    return {
      what: 'problems',
      problems: [
        {
          code: 'table.too-large',
          file: file.name,
          message: 'The table is too large.',
          expected: `at most ${MAX_TABLE_CHARS / 1_000_000} million characters`,
          remedy: 'Take fewer rows at a time.',
        },
      ],
    }
  return { what: 'paste', kind, start: { name: file.name, text: await file.text() } }
}

/** Type sheets and tables dropped on the view. Other files, benches among them, are the window's business. */
export function useFleetDrop(kind: Kind | 'bench', take: (exchange: Exchange) => void): void {
  const latest = useRef({ kind, take })
  latest.current = { kind, take }
  useEffect(() => {
    const drop = (event: DragEvent) => {
      const file = event.dataTransfer?.files[0]
      if (file === undefined || !(isSheetFile(file.name) || isTableFile(file.name))) return
      event.preventDefault()
      const now = latest.current
      const table = isTableKind(now.kind) ? now.kind : 'receivers'
      void (isSheetFile(file.name) ? importing(file) : pasting(file, table)).then(now.take)
    }
    document.addEventListener('drop', drop)
    return () => document.removeEventListener('drop', drop)
  }, [])
}

export interface ExchangeDialogProps {
  readonly exchange: Exchange
  readonly bench: Bench
  readonly memory: Memory
  readonly onExchange: (next: Exchange | undefined) => void
  readonly onChangeBench: (label: string, next: Bench) => void
  /** Shows what was added. */
  readonly onAdded: (kind: TableKind, id: string) => void
  readonly onTold: (words: string) => void
}

const today = () => {
  const now = new Date()
  const two = (n: number) => String(n).padStart(2, '0')
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`
}

export function ExchangeDialog(props: ExchangeDialogProps) {
  const { exchange, bench, onChangeBench } = props
  const close = () => props.onExchange(undefined)
  const added = (kind: TableKind) => (label: string, next: Bench, ids: readonly string[]) => {
    onChangeBench(label, next)
    close()
    props.onAdded(kind, ids[0])
  }
  switch (exchange.what) {
    case 'export':
      return (
        <ExportDialog
          bench={bench}
          chosen={exchange.chosen}
          today={today()}
          memory={props.memory}
          onDone={fileName => {
            close()
            props.onTold(`Written: ${fileName}. Send it to whom you like.`)
          }}
          onClose={close}
        />
      )
    case 'import':
      return (
        <ImportDialog
          bench={bench}
          sheet={exchange.sheet}
          fileName={exchange.fileName}
          warnings={exchange.warnings}
          onTake={(label, next) => {
            onChangeBench(label, next)
            close()
          }}
          onClose={close}
        />
      )
    case 'problems':
      return <Refused problems={exchange.problems} onClose={close} />
    case 'paste':
      return (
        <PasteDialog
          bench={bench}
          kind={exchange.kind}
          start={exchange.start}
          onAdd={added(exchange.kind)}
          onClose={close}
        />
      )
    case 'several':
      return <SeveralDialog {...exchange} bench={bench} onAdd={added(exchange.kind)} onClose={close} />
  }
}

function Refused({ problems, onClose }: { problems: readonly Problem[]; onClose: () => void }) {
  // One remedy is most often that of all.
  const remedies = [...new Set(problems.flatMap(({ remedy }) => remedy ?? []))]
  return (
    <Dialog
      title="This file cannot be imported"
      onClose={onClose}
      foot={
        <Button kind="primary" onClick={onClose}>
          Close
        </Button>
      }
    >
      <ul className="fleet-refused">
        {problems.map(problem => (
          <li key={`${problem.line} ${problem.field}`}>{sayProblem({ ...problem, remedy: undefined })}</li>
        ))}
      </ul>
      {remedies.map(remedy => (
        <p key={remedy}>{remedy}</p>
      ))}
    </Dialog>
  )
}
