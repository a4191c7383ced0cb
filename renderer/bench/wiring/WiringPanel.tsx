import { useMemo, useState } from 'react'
import type { Bench } from '../../../shared/model/bench.ts'
import type { WiringCheck } from '../../../shared/wiring/check.ts'
import type { Cure, WiringFinding } from '../../../shared/wiring/finding.ts'
import { netsOf } from '../../../shared/wiring/nets.ts'
import type { Line, Setup } from '../../../shared/wiring/setup.ts'
import { ConnectorDrawing } from '../../ui/ConnectorDrawing.tsx'
import { EmptyState } from '../../ui/EmptyState.tsx'
import { Choices } from './Choices.tsx'
import { Findings } from './Findings.tsx'
import { type ChosenWiring, useWiringCheck } from './use-wiring.ts'
import { WiringDrawing } from './WiringDrawing.tsx'
import { sayVerdict } from './words.ts'
import './wiring.css'

export interface WiringPanelProps {
  readonly bench: Bench
  readonly receiverId: string
  readonly choices: ChosenWiring
  readonly onChoose: (choices: ChosenWiring) => void
  readonly onChangeBench: (label: string, next: Bench) => void
  /** The line as the dialect has it. */
  readonly line?: Line
  /** What is to be spoken, by name: a receiver may have a connector of its own for it. */
  readonly dialect?: string
}

/** Wiring before power: what is chosen, drawn pin by pin, with what every pin would get and what would cure it. */
export function WiringPanel(props: WiringPanelProps) {
  const { bench, receiverId, choices, onChoose, onChangeBench, line, dialect } = props
  const check = useWiringCheck(bench, receiverId, choices, line, dialect)
  const cure = (taken: Cure) => {
    if (taken.apply) onChangeBench(taken.label, taken.apply(bench))
    if (taken.choose) onChoose({ ...choices, ...taken.choose })
  }
  if (bench.adapters.length === 0)
    return (
      <EmptyState title="No adapter on this bench yet">
        <p>
          Add your USB serial adapter under Fleet, Everything on the bench, Adapters: its pins in order, and
          what they give.
        </p>
      </EmptyState>
    )
  return (
    <section className="wi" aria-label="Wiring before power">
      <Choices bench={bench} receiverId={receiverId} choices={choices} onChoose={onChoose} />
      {check === undefined ? (
        <p className="wi-soft">Choose an adapter and a cable; the wiring is checked at once.</p>
      ) : (
        <Checked check={check} onCure={cure} />
      )}
    </section>
  )
}

function Checked({ check, onCure }: { readonly check: WiringCheck; readonly onCure: (cure: Cure) => void }) {
  // Kept with the check it came from: after a change the finding is another one.
  const [picked, setPicked] = useState<{ readonly of: WiringCheck; readonly finding?: WiringFinding }>()
  const shown = picked?.of === check ? picked.finding : check.findings.find(f => f.severity === 'danger')
  const verdict = sayVerdict(check.safe, check.findings)
  return (
    <>
      <div className={`notice notice-${verdict.kind} wi-verdict-band`} role="status">
        <div>
          <strong>{verdict.title}.</strong> {verdict.text}
        </div>
      </div>
      <div className="wi-sides">
        {check.setup && <Drawn check={check} setup={check.setup} shown={shown} />}
        <Findings
          findings={check.findings}
          shown={shown}
          onShow={finding => setPicked({ of: check, finding })}
          onCure={onCure}
        />
      </div>
    </>
  )
}

interface DrawnProps {
  readonly check: WiringCheck
  readonly setup: Setup
  readonly shown: WiringFinding | undefined
}

function Drawn({ check, setup, shown }: DrawnProps) {
  const nets = useMemo(() => netsOf(setup), [setup])
  return (
    <div className="wi-drawn">
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a box that scrolls has to be reachable by keyboard */}
      <section className="wi-scroll" tabIndex={0} aria-label="The wiring, pin by pin">
        <WiringDrawing
          setup={setup}
          pins={check.pins}
          wires={check.wires}
          voltsOfAdapterPin={pin => nets.adapterPin(pin)?.atRest}
          pin={shown?.pin}
          adapterPin={shown?.adapterPin}
        />
      </section>
      <p className="wi-sideways">Move the drawing sideways: the receiver is at its right.</p>
      <div className="wi-face">
        <ConnectorDrawing
          connector={setup.connector}
          size={48}
          highlight={shown?.pin === undefined ? [] : [shown.pin]}
        />
        <p className="wi-soft">
          Volts are against the ground of the adapter, with nothing sent. Every change is checked at once;
          nothing here touches the port.
        </p>
      </div>
    </div>
  )
}
