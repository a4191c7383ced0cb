import type { AdapterRole, Wiring } from '../../../shared/model/gear.ts'
import type { Severity, WiringFinding } from '../../../shared/wiring/finding.ts'
import type { PinVerdict } from '../../../shared/wiring/pins.ts'
import type { StatusRole } from '../../ui/StatusMark.tsx'

/** What the wiring says in words, with the shape that goes with each. */

export const adapterRoleWords: Readonly<Record<AdapterRole, string>> = {
  ground: 'ground',
  supply: 'supply',
  transmit: 'sends',
  receive: 'hears',
  'single-wire': 'sends, hears',
  dtr: 'control',
  rts: 'control',
  'not-used': 'not used',
}

export const feedWords: Readonly<Record<Wiring['cableFeed'], string>> = {
  'through-cable': 'by the adapter, through the cable',
  'own-supply': 'by a supply of its own',
  both: 'by both at once',
}

export const severityWords: Readonly<
  Record<Severity, { readonly word: string; readonly status: StatusRole }>
> = {
  danger: { word: 'Danger', status: 'danger' },
  block: { word: 'Stop', status: 'danger' },
  warn: { word: 'Look out', status: 'caution' },
  ok: { word: 'Right', status: 'good' },
}

export const verdictWords: Readonly<
  Record<PinVerdict, { readonly word: string; readonly status: StatusRole }>
> = {
  right: { word: 'right', status: 'good' },
  wrong: { word: 'wrong', status: 'danger' },
  'not-known': { word: 'not known', status: 'unknown' },
  open: { word: 'not connected', status: 'caution' },
}

const count = (n: number, one: string, many: string) => `${n} ${n === 1 ? one : many}`

export interface VerdictWords {
  readonly kind: 'good' | 'caution' | 'danger'
  readonly title: string
  readonly text: string
}

/** The whole check in two sentences. */
export function sayVerdict(safe: boolean, findings: readonly WiringFinding[]): VerdictWords {
  const of = (severity: Severity) => findings.filter(f => f.severity === severity).length
  if (of('danger') > 0)
    return {
      kind: 'danger',
      title: 'Leave the power off',
      text: `${count(of('danger'), 'thing', 'things')} here would destroy parts. Nothing is written until this is cured, and nothing can override it.`,
    }
  if (!safe)
    return {
      kind: 'caution',
      title: 'Not yet',
      text: `${count(of('block'), 'thing stands', 'things stand')} in the way or ${of('block') === 1 ? 'is' : 'are'} not known. What is not known is not treated as safe.`,
    }
  return {
    kind: 'good',
    title: 'The wiring is safe as it is drawn here',
    text: 'Hold what lies on the table against the drawing, pin by pin, before there is power.',
  }
}
