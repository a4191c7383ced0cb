import { Button } from '../ui/Button.tsx'
import { Dialog } from '../ui/Dialog.tsx'
import type { Editing } from './EditDialog.tsx'
import type { Reference } from './edit.ts'
import { kinds } from './kinds.ts'
import './form.css'

export interface InUseProps {
  readonly name: string
  readonly references: readonly Reference[]
  readonly onOpen: (editing: Editing) => void
  readonly onClose: () => void
}

/** Why something cannot be deleted: all that refers to it, each a step away. */
export function InUse({ name, references, onOpen, onClose }: InUseProps) {
  return (
    <Dialog
      title={`${name} is in use`}
      lead={`It can be deleted once ${references.length === 1 ? 'this no longer refers' : 'these no longer refer'} to it.`}
      onClose={onClose}
      foot={
        <Button kind="primary" onClick={onClose}>
          Keep it
        </Button>
      }
    >
      <ul className="fleet-references">
        {references.map(reference => (
          <li key={`${reference.kind} ${reference.id} ${reference.field}`}>
            <div>
              <strong>{reference.name}</strong>
              <p>
                {reference.kind && `${kinds[reference.kind].one}, `}field “{reference.field}”
              </p>
            </div>
            <Button
              aria-label={`Open ${reference.name}`}
              onClick={() =>
                onOpen(
                  reference.kind === undefined
                    ? { what: 'bench' }
                    : { what: 'change', kind: reference.kind, id: reference.id },
                )
              }
            >
              Open
            </Button>
          </li>
        ))}
      </ul>
    </Dialog>
  )
}
