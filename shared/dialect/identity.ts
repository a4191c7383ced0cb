import { type VersionShown, versionShown } from '../model/version.ts'
import type { Captured, Context } from './context.ts'
import { hexOfOctets } from './hex.ts'
import type { IdentityField } from './plan.ts'
import type { Dialect, IdentitySpec } from './schema.ts'

/** What a receiver said of itself, as people read it. */

function shown({ show }: IdentitySpec, { value, octets }: Captured): string {
  switch (show) {
    case 'hex':
      return hexOfOctets(octets).replaceAll(' ', '')
    case 'decimal':
      return String(value)
    case 'dotted':
      return octets.join('.')
    case 'text':
      return String.fromCharCode(...octets.filter(octet => octet >= 0x20 && octet < 0x7f)).trim()
  }
}

/** The fields of the dialect's identity that have been captured. */
export function identityFrom(dialect: Dialect, c: Context): IdentityField[] {
  return (dialect.identify?.fields ?? []).flatMap(field => {
    const captured = c.captures.get(field.name)
    if (captured === undefined) return []
    return [{ name: field.name, label: field.label, value: shown(field, captured), role: field.role }]
  })
}

/** 410, 0x410 and 0410 are the same; letters count alike in both cases. */
const plain = (value: string): string =>
  value
    .trim()
    .toLowerCase()
    .replace(/^0x/, '')
    .replace(/^0+(?=.)/, '')

export const sameValue = (a: string, b: string): boolean => plain(a) === plain(b)

/** The first field that does not show what is expected; a field that is not there does not show it. */
export function firstOther(
  identity: readonly IdentityField[],
  expected: Readonly<Record<string, string>>,
): { label: string; is: string; wanted: string } | undefined {
  for (const [name, wanted] of Object.entries(expected)) {
    const field = identity.find(f => f.name === name)
    if (field === undefined) return { label: name, is: 'nothing', wanted }
    if (!sameValue(field.value, wanted)) return { label: field.label, is: field.value, wanted }
  }
  return undefined
}

/**
 * What a receiver says after the start, held against what it must show.
 * @param expected by field name; of the version, that of the image
 * @returns the field that shows something else; or why what it says is too little to show the version
 */
export function shownAfter(
  dialect: Dialect,
  identity: readonly IdentityField[],
  expected: Readonly<Record<string, string>>,
): { readonly other?: ReturnType<typeof firstOther>; readonly why?: string } {
  const isVersion = (name: string) => identity.some(f => f.name === name && f.role === 'version')
  const entries = Object.entries(expected)
  const other = firstOther(identity, Object.fromEntries(entries.filter(([name]) => !isVersion(name))))
  if (other !== undefined) return { other }
  for (const [name, wanted] of entries.filter(([name]) => isVersion(name))) {
    const field = identity.find(f => f.name === name)
    if (field === undefined) continue
    const shown = versionSaid(dialect, field, wanted)
    if (shown.is === 'other') return { other: { label: field.label, is: field.value, wanted } }
    if (shown.is === 'cannot-say') return { why: shown.why }
  }
  return {}
}

/** Whether a field shows that the receiver runs this version; only text can say that of a pre-release. */
export function versionSaid(
  dialect: Dialect,
  { name, value }: Pick<IdentityField, 'name' | 'value'>,
  stated: string,
): VersionShown {
  const show = dialect.identify?.fields.find(f => f.name === name)?.show
  return versionShown(value, stated, show === 'text' ? 'text' : 'numbers')
}

/** @returns whether the program runs, by the field that tells; undefined where none does */
export function runsProgram(dialect: Dialect, identity: readonly IdentityField[]): boolean | undefined {
  const mode = dialect.identify?.fields.find(({ role }) => role === 'mode')
  const field = identity.find(({ name }) => name === mode?.name)
  if (mode?.running === undefined || field === undefined) return undefined
  return sameValue(field.value, mode.running)
}
