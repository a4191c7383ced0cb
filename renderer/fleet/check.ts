import type { z } from 'zod'
import type { FieldSpec } from './field-spec.ts'
import { getAt, joinPath } from './path.ts'

/** What is wrong, by the path of the field; '' for what belongs to no field. */
export type FieldErrors = Readonly<Record<string, string>>

export type Checked =
  | { readonly ok: true; readonly value: unknown }
  | { readonly ok: false; readonly errors: FieldErrors }

type Issue = z.core.$ZodIssue

/** The field that a path such as `wires.0.from` belongs to, or undefined. */
export function specAt(fields: readonly FieldSpec[], path: string): FieldSpec | undefined {
  for (const spec of fields) {
    if (spec.path === path) return spec
    if (!path.startsWith(`${spec.path}.`)) continue
    const rest = path.slice(spec.path.length + 1)
    if (spec.kind === 'group') return specAt(spec.fields ?? [], rest) ?? spec
    if (spec.kind === 'rows') return specAt(spec.fields ?? [], rest.replace(/^\d+\.?/, '')) ?? spec
    return spec
  }
  return undefined
}

/** A union says all that would have been right; the first choice is what the field asks for, "not known" the last. */
function flatten(issue: Issue, base: readonly PropertyKey[] = []): { path: string; issue: Issue }[] {
  const path = [...base, ...issue.path]
  if (issue.code === 'invalid_union' && issue.errors[0]?.some(inner => inner.path.length > 0))
    return issue.errors[0].flatMap(inner => flatten(inner, path))
  const inner = issue.code === 'invalid_union' ? (issue.errors[0]?.[0] ?? issue) : issue
  return [{ path: joinPath(...path.map(String)), issue: inner }]
}

const isEmpty = (value: unknown) =>
  value === undefined ||
  (typeof value === 'string' && value.trim() === '') ||
  (Array.isArray(value) && value.length === 0)

const isOneField = /^(choices|labels|references)$/

const capital = (sentence: string) => sentence.charAt(0).toUpperCase() + sentence.slice(1)

/** zod's complaint as a sentence for the person at the form. */
export function sayIssue(issue: Issue, spec: FieldSpec | undefined, value: unknown): string {
  const orUnknown = spec?.notKnown ? ', or “not known”' : ''
  const unit = spec?.unit ? ` ${spec.unit}` : ''
  const shown = (n: number | bigint) =>
    spec?.hexadecimal ? `0x${n.toString(16).toUpperCase()}` : String(Number(n) / (spec?.scale ?? 1))
  if (isEmpty(value)) {
    if (spec?.kind === 'choice' || spec?.kind === 'reference') return `Choose one${orUnknown}.`
    if (spec?.kind === 'choices' || spec?.kind === 'references') return `Choose at least one${orUnknown}.`
    if (spec?.kind === 'rows') return 'Add at least one.'
    return `This has to be filled in${orUnknown}.`
  }
  if (issue.code === 'custom')
    return /^an? /.test(issue.message)
      ? `This has to be ${issue.message}${orUnknown}.`
      : `${capital(issue.message)}.`
  if (issue.code === 'invalid_format')
    return issue.format === 'date'
      ? 'This has to be a date such as 2026-11-25.'
      : `This has to be ${issue.message}${orUnknown}.`
  if (spec?.kind === 'number') {
    if (typeof value !== 'number') return `“${String(value)}” is not a number.`
    if (issue.code === 'too_small')
      return issue.inclusive === false
        ? `This has to be more than ${shown(issue.minimum)}${unit}.`
        : `This has to be at least ${shown(issue.minimum)}${unit}.`
    if (issue.code === 'too_big') return `This has to be at most ${shown(issue.maximum)}${unit}.`
    return spec.scale ? `This has to be a whole number of octets.` : 'This has to be a whole number.'
  }
  if (issue.code === 'too_big')
    return Array.isArray(value)
      ? `At most ${issue.maximum} fit here.`
      : `At most ${issue.maximum} characters fit here.`
  if (spec?.kind === 'choice' || spec?.kind === 'reference') return `Choose one of the list${orUnknown}.`
  return `${capital(issue.message)}.`
}

/**
 * Checks what a form holds.
 * @param what the schema that decides, and the fields that put its complaints into words
 */
export function checkDraft(
  what: { readonly schema: z.ZodType; readonly fields: readonly FieldSpec[] },
  draft: unknown,
): Checked {
  const parsed = what.schema.safeParse(draft)
  const errors: Record<string, string> = {}
  if (!parsed.success)
    for (const { path, issue } of parsed.error.issues.flatMap(i => flatten(i))) {
      const spec = specAt(what.fields, path) ?? what.fields.find(field => field.path.startsWith(`${path}.`))
      // Choices and lists of words are one field each, however deep the complaint.
      const at = spec && (isOneField.test(spec.kind) || spec.path.startsWith(`${path}.`)) ? spec.path : path
      errors[at] ??= sayIssue(issue, spec, getAt(draft, path))
    }
  return parsed.success ? { ok: true, value: parsed.data } : { ok: false, errors }
}
