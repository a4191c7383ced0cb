import { useRef } from 'react'
import type { SheetKind } from '../../shared/sheet/type-sheet.ts'
import type { TableKind } from '../../shared/sheet/unit-fields.ts'
import { Button } from '../ui/Button.tsx'
import { type Exchange, importing, isTableKind } from './Exchange.tsx'
import { type Entry, isCatalogue, type Kind, kinds, nameOf } from './kinds.ts'

const UNITS_OF: Partial<Record<Kind, TableKind>> = {
  receiverTypes: 'receivers',
  moduleTypes: 'modules',
  radioTypes: 'radios',
}

export interface ListToolsProps {
  readonly kind: Kind
  readonly entry: Entry | undefined
  readonly onExchange: (exchange: Exchange) => void
}

/** What a list gives to others and takes from them. */
export function ExchangeTools({ kind, entry, onExchange }: ListToolsProps) {
  const input = useRef<HTMLInputElement>(null)
  if (isTableKind(kind))
    return <Button onClick={() => onExchange({ what: 'paste', kind })}>Paste a table…</Button>
  if (!isCatalogue(kind)) return null
  return (
    <>
      <Button onClick={() => input.current?.click()}>Import types…</Button>
      <input
        ref={input}
        type="file"
        hidden
        accept=".json"
        aria-label="Type sheet"
        onChange={event => {
          const [file] = event.target.files ?? []
          event.target.value = ''
          if (file !== undefined) void importing(file).then(onExchange)
        }}
      />
      <Button
        onClick={() =>
          onExchange({ what: 'export', chosen: entry && { kind: kind as SheetKind, id: entry.id } })
        }
      >
        Export types…
      </Button>
    </>
  )
}

/** A name that ends in a figure would run into the number. */
const stemOf = (name: string) => (/\d$/.test(name) ? `${name} no.` : name)

/** Several pieces of the chosen type. */
export function SeveralTool({ kind, entry, onExchange }: ListToolsProps) {
  const units = UNITS_OF[kind]
  if (units === undefined) return null
  return (
    <Button
      disabled={!entry}
      onClick={() =>
        entry &&
        onExchange({
          what: 'several',
          kind: units,
          typeId: entry.id,
          typeName: nameOf(kind, entry),
          stem: stemOf(String(entry.name)),
        })
      }
    >
      Add {kinds[units].many}…
    </Button>
  )
}
