import { useEffect, useRef } from 'react'
import type { Route } from '../../../shared/model/units.ts'
import type { Fault } from '../../../shared/sim/faults.ts'
import { faultGroups } from './faults-by-group.ts'
import { activeFaults, type Settings } from './settings.ts'

interface FaultPanelProps {
  readonly settings: Settings
  readonly problems: ReadonlyMap<string, string>
  readonly onChange: (settings: Settings) => void
}

/** The faults that can be switched on, each with what happens and how much of it. */
export function FaultPanel({ settings, problems, onChange }: FaultPanelProps) {
  const active = activeFaults(settings).length
  const box = useRef<HTMLDetailsElement | null>(null)
  useEffect(() => {
    if (problems.size > 0 && box.current !== null) box.current.open = true
  }, [problems])
  const set = (name: string, value: string | undefined) => {
    const { [name]: _, ...others } = settings.faults
    onChange({ ...settings, faults: value === undefined ? others : { ...others, [name]: value } })
  }
  return (
    <details className="rh-faults" ref={box}>
      <summary>
        <strong>Faults</strong>
        <span className="rh-count rh-soft rh-figures">{active === 0 ? 'none on' : `${active} on`}</span>
      </summary>
      {active === 0 ? null : (
        <button type="button" className="rh-button" onClick={() => onChange({ ...settings, faults: {} })}>
          Switch all off
        </button>
      )}
      {faultGroups().map(({ title, faults }, nth) => {
        const isOnlyElsewhere = faults.every(fault => !fault.routes.includes(settings.route))
        const about = isOnlyElsewhere ? `fault-group-${nth}` : undefined
        return (
          <fieldset key={title} className="rh-fault-group">
            <legend>{title}</legend>
            {isOnlyElsewhere && (
              <p id={about} className="rh-soft rh-small">
                {onlyWords(faults[0])}
              </p>
            )}
            {faults.map(fault => (
              <FaultRow
                key={fault.name}
                fault={fault}
                toldBy={about}
                route={settings.route}
                value={settings.faults[fault.name]}
                problem={problems.get(fault.name)}
                onChange={value => set(fault.name, value)}
              />
            ))}
          </fieldset>
        )
      })}
    </details>
  )
}

const onlyWords = ({ routes }: Fault): string => `Only ${routes[0] === 'cable' ? 'by cable' : 'wireless'}.`

interface FaultRowProps {
  readonly fault: Fault
  readonly route: Route
  /** The id of what says for the whole group that it goes by the other route alone. */
  readonly toldBy: string | undefined
  /** Undefined while the fault is off. */
  readonly value: string | undefined
  readonly problem: string | undefined
  readonly onChange: (value: string | undefined) => void
}

function FaultRow({ fault, route, toldBy, value, problem, onChange }: FaultRowProps) {
  const fits = fault.routes.includes(route)
  const on = value !== undefined
  const usual = fault.parameter === undefined ? '' : String(fault.parameter.usual)
  const about = toldBy ?? `fault-about-${fault.name}`
  return (
    <div className={`rh-fault${fits ? '' : ' rh-off'}`}>
      <label className="rh-check">
        <input
          type="checkbox"
          checked={on && fits}
          disabled={!fits}
          aria-describedby={about}
          onChange={event => onChange(event.target.checked ? usual : undefined)}
        />
        {fault.label}
      </label>
      {toldBy === undefined && (
        <p id={about} className="rh-soft rh-small">
          {fits ? fault.mechanism : onlyWords(fault)}
        </p>
      )}
      {on && fits ? (
        <FaultParameterField fault={fault} value={value} problem={problem} onChange={onChange} />
      ) : null}
      {problem === undefined ? null : (
        <p className="rh-problem" role="alert">
          {problem}
        </p>
      )}
    </div>
  )
}

function FaultParameterField({ fault, value, problem, onChange }: Omit<FaultRowProps, 'route' | 'toldBy'>) {
  const { parameter } = fault
  if (parameter === undefined) return null
  if (parameter.kind === 'choice')
    return (
      <label className="rh-field rh-field-inline">
        {parameter.label}
        <select value={value} onChange={event => onChange(event.target.value)}>
          {parameter.choices.map(choice => (
            <option key={choice.value} value={choice.value}>
              {choice.label}
            </option>
          ))}
        </select>
      </label>
    )
  return (
    <>
      <label className="rh-field rh-field-inline">
        {parameter.label}
        <input
          type="number"
          inputMode="decimal"
          step="any"
          min={parameter.least}
          max={parameter.most}
          value={value}
          aria-invalid={problem !== undefined}
          onChange={event => onChange(event.target.value)}
        />
        <span className="rh-soft">{parameter.unit}</span>
      </label>
      <p className="rh-soft rh-small rh-figures">
        {parameter.least} to {parameter.most} {parameter.unit}
      </p>
    </>
  )
}
