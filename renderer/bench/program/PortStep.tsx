import { type Draft, portsToBegin } from './draft.ts'
import { Ports } from './Ports.tsx'
import type { PortsDesk } from './use-ports.ts'

interface PortStepProps {
  readonly desk: PortsDesk
  readonly draft: Draft
  readonly live: readonly string[]
  readonly onChange: (part: Partial<Draft>) => void
}

/** Through which port; through several for a batch. */
export function PortStep({ desk, draft, live, onChange }: PortStepProps) {
  const isBatch = draft.mode === 'batch'
  return (
    <>
      <Ports
        desk={desk}
        many={isBatch}
        chosen={isBatch ? draft.ports : draft.port === undefined ? [] : [draft.port]}
        live={live}
        onChoose={places => onChange(isBatch ? { ports: places } : { port: places[0] })}
      />
      <label className="ui-check">
        <input
          type="checkbox"
          checked={isBatch}
          onChange={e =>
            onChange({
              mode: e.target.checked ? 'batch' : 'one',
              ports: portsToBegin(draft, desk.ports),
            })
          }
        />
        A batch: many receivers like this one, one after another, through up to 8 ports
      </label>
    </>
  )
}
