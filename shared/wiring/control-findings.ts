import type { WiringFinding } from './finding.ts'
import type { Join, Setup } from './setup.ts'
import { pinName } from './wire-findings.ts'

/**
 * Whether the control lines of the port (DTR and RTS of ITU-T V.24, 108/2 and 105) come to the pins that they have to
 * move. Without them a receiver can still be brought into its boot loader by hand.
 */

const LINES = ['dtr', 'rts'] as const
type ControlLine = (typeof LINES)[number]
type Does = 'boot' | 'reset'

const does: Readonly<Record<Does, string>> = {
  boot: 'starts the boot loader',
  reset: 'resets the receiver',
}

const toControls = ({ adapter, connector, joins }: Setup, line: ControlLine): readonly Join[] =>
  joins.filter(
    j =>
      j.verdict === 'right' &&
      adapter.pins[j.from - 1].role === line &&
      /^(boot|reset)$/.test(connector.pins[j.to - 1].role),
  )

function elsewhere(setup: Setup, line: ControlLine, wanted: Does | undefined): WiringFinding[] {
  const { pins } = setup.connector
  return toControls(setup, line).flatMap((join): WiringFinding[] => {
    const role = pins[join.to - 1].role as Does
    const at = { pin: join.to, adapterPin: join.from }
    const comes = `${line.toUpperCase()} comes to pin ${pinName(pins, join.to)}, which ${does[role]}`
    if (wanted === undefined)
      return [
        {
          ...at,
          code: 'control-unasked',
          severity: 'warn',
          why: `${comes}; this way of writing leaves it alone. Opening the port can pull it: if the receiver does not answer, take this wire off.`,
        },
      ]
    if (role === wanted) return []
    return [
      {
        ...at,
        code: 'control-swapped',
        severity: 'block',
        why: `${comes}; in this way of writing it ${does[wanted]}.`,
      },
    ]
  })
}

function missing(setup: Setup, line: ControlLine, wanted: Does): WiringFinding[] {
  const { pins } = setup.connector
  if (toControls(setup, line).length > 0) return []
  const pin = pins.findIndex(p => p.role === wanted) + 1 || undefined
  const where = pin === undefined ? 'to this receiver' : `to pin ${pinName(pins, pin)} of the receiver`
  return [
    {
      code: 'control-by-hand',
      severity: 'warn',
      ...(pin === undefined ? {} : { pin }),
      why: `No wire brings ${line.toUpperCase()} ${where}, which in this way of writing ${does[wanted]}. That has to be done by hand, as the papers of the receiver say.`,
    },
  ]
}

/** @returns all about the control lines; nothing where neither the way of writing nor the cable has any */
export function controlFindings(setup: Setup): WiringFinding[] {
  const controls = setup.line.controls ?? {}
  const wrong = LINES.flatMap(line => {
    const wanted = controls[line]
    return [...elsewhere(setup, line, wanted), ...(wanted === undefined ? [] : missing(setup, line, wanted))]
  })
  const moved = LINES.filter(line => controls[line] !== undefined)
  if (wrong.length > 0 || moved.length === 0) return wrong
  const [first] = toControls(setup, moved[0])
  return [
    {
      code: 'control',
      severity: 'ok',
      pin: first.to,
      why: `The programmer brings the receiver into its boot loader by itself (${moved.map(l => l.toUpperCase()).join(', ')}).`,
    },
  ]
}
