import { z } from 'zod'
import { fieldPath } from '../model/field-line.ts'
import type { Problem } from '../model/problem.ts'

/** What a method takes and gives, both checked on both sides of the bridge. */
export interface MethodSchemas {
  readonly request: z.ZodType
  readonly reply: z.ZodType
}
export type MethodMap = Readonly<Record<string, MethodSchemas>>
export type EventMap = Readonly<Record<string, z.ZodType>>

/** Everything that the window and the machine may say to each other. */
export interface Contract<M extends MethodMap = MethodMap, E extends EventMap = EventMap> {
  readonly methods: M
  readonly events: E
}

export type MethodName<C extends Contract> = keyof C['methods'] & string
export type EventName<C extends Contract> = keyof C['events'] & string
/** What the caller hands over: defaults of the schema may be left out. */
export type RequestOf<C extends Contract, M extends MethodName<C>> = z.input<C['methods'][M]['request']>
/** What the handler gets: the request after validation, defaults filled in. */
export type ReceivedOf<C extends Contract, M extends MethodName<C>> = z.output<C['methods'][M]['request']>
/** What the handler gives back. */
export type GivenOf<C extends Contract, M extends MethodName<C>> = z.input<C['methods'][M]['reply']>
/** What the caller gets. */
export type ReplyOf<C extends Contract, M extends MethodName<C>> = z.output<C['methods'][M]['reply']>
export type EventOf<C extends Contract, E extends EventName<C>> = z.output<C['events'][E]>

export type Handlers<C extends Contract> = {
  readonly [M in MethodName<C>]: (request: ReceivedOf<C, M>) => GivenOf<C, M> | Promise<GivenOf<C, M>>
}

/** How every call ends: with the reply, or with what was wrong. Nothing else crosses the bridge. */
export type Outcome =
  | { readonly ok: true; readonly reply: unknown }
  | { readonly ok: false; readonly problems: readonly Problem[] }

export { problemSchema } from '../model/problem-schema.ts'

const NAME = /^[a-z][a-zA-Z0-9]*(\.[a-z][a-zA-Z0-9]*)+$/

/**
 * Declares a contract. Names are dotted, `bench.open`; anything else is a mistake in the program, so it throws
 * an Error at start-up rather than failing on the first call.
 */
export function defineContract<const M extends MethodMap, const E extends EventMap>(contract: {
  readonly methods: M
  readonly events: E
}): Contract<M, E> {
  for (const name of [...Object.keys(contract.methods), ...Object.keys(contract.events)]) {
    if (!NAME.test(name)) throw new Error(`'${name}' is not a contract name; write it as 'area.action'`)
  }
  return contract
}

/** Octets of any length up to `maxBytes`, for request and reply schemas. */
export const octets = (maxBytes: number) =>
  z
    .instanceof(Uint8Array, { error: 'must be octets' })
    .refine(bytes => bytes.length <= maxBytes, { error: `must not be longer than ${maxBytes} octets` })

/** Turns what zod found into problems that name the field, at most `limit` of them. */
export function problemsOfZod(error: z.ZodError, code: string, limit = 20): readonly Problem[] {
  return error.issues.slice(0, limit).map(issue => ({
    code,
    message: issue.message,
    ...(issue.path.length > 0 ? { field: fieldPath(issue.path) } : {}),
  }))
}
