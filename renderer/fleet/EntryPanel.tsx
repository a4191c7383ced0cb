import type { Bench } from '../../shared/model/bench.ts'
import type { Connector } from '../../shared/model/catalogue.ts'
import { Button } from '../ui/Button.tsx'
import { ConnectorDrawing } from '../ui/ConnectorDrawing.tsx'
import type { Editing } from './EditDialog.tsx'
import { referencesTo } from './edit.ts'
import { bySection, factsOf } from './facts.ts'
import { type Entry, type Kind, kinds, nameOf } from './kinds.ts'
import './side.css'

export interface EntryPanelProps {
  readonly bench: Bench
  readonly kind: Kind
  /** Nothing while nothing is chosen. */
  readonly entry: Entry | undefined
  readonly onEdit: (editing: Editing) => void
}

const isMissing = (value: string) => /^(not known|none)$/.test(value)

/** Explains what is chosen in a list: all that is known of it, and what refers to it. */
export function EntryPanel({ bench, kind, entry, onEdit }: EntryPanelProps) {
  const { one, fields } = kinds[kind]
  const name = entry && nameOf(kind, entry)
  return (
    <aside className="fleet-side fleet-entry" aria-label={`Chosen ${one}`}>
      {entry === undefined ? (
        <p className="fleet-entry-none">Choose a {one} to see what is known of it, and what refers to it.</p>
      ) : (
        <>
          <header className="fleet-side-head">
            <h2>{name}</h2>
          </header>
          <div className="fleet-side-body">
            {kind === 'connectors' && (
              <ConnectorDrawing connector={entry as unknown as Connector} size={52} />
            )}
            <div className="fleet-entry-columns">
              {bySection(fields).map(([section, members]) => (
                <section key={section} className="fleet-concern" aria-label={section}>
                  <h3>{section}</h3>
                  <dl className="fleet-facts">
                    {factsOf(members, entry, bench)
                      .filter(fact => fact.value !== name)
                      .map(fact => (
                        <div key={fact.path}>
                          <dt>{fact.label}</dt>
                          <dd className={isMissing(fact.value) ? 'fleet-none' : undefined}>{fact.value}</dd>
                        </div>
                      ))}
                  </dl>
                </section>
              ))}
              <UsedBy bench={bench} kind={kind} entry={entry} onEdit={onEdit} />
            </div>
          </div>
        </>
      )}
    </aside>
  )
}

function UsedBy({ bench, kind, entry, onEdit }: EntryPanelProps & { readonly entry: Entry }) {
  const references = referencesTo(bench, kind, entry.id)
  return (
    <section className="fleet-concern" aria-label="What refers to it">
      <h3>What refers to it</h3>
      {references.length === 0 && <p className="fleet-none">nothing, so it can be deleted</p>}
      <ul className="fleet-used-by">
        {references.map(reference => (
          <li key={`${reference.kind} ${reference.id} ${reference.field}`}>
            <Button
              kind="quiet"
              aria-label={`Open ${reference.name}`}
              onClick={() =>
                onEdit(
                  reference.kind === undefined
                    ? { what: 'bench' }
                    : { what: 'change', kind: reference.kind, id: reference.id },
                )
              }
            >
              {reference.name}
            </Button>
            <span>{reference.kind === undefined ? 'the table' : kinds[reference.kind].one}</span>
          </li>
        ))}
      </ul>
    </section>
  )
}
