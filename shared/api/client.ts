import { z } from 'zod'
import { ProblemError } from '../model/problem.ts'
import type { Contract, EventName, EventOf, MethodName, Outcome, ReplyOf, RequestOf } from './define.ts'
import { problemSchema, problemsOfZod } from './define.ts'

/** What carries calls and events: Electron's bridge or a socket. Reconnecting is the channel's own matter. */
export interface Channel {
  /** Resolves with the outcome; rejects with ProblemError when the other side cannot be reached. */
  call(method: string, request: unknown): Promise<unknown>
  /** All events, as they come, until the returned function is called. */
  listen(listener: (event: string, data: unknown) => void): () => void
}

export interface Client<C extends Contract> {
  /** Rejects with a ProblemError: the request does not fit, the handler refused, or the reply does not fit. */
  call<M extends MethodName<C>>(method: M, request: RequestOf<C, M>): Promise<ReplyOf<C, M>>
  /** Events that do not fit the contract are dropped. Returns the function that stops listening. */
  on<E extends EventName<C>>(event: E, listener: (data: EventOf<C, E>) => void): () => void
}

/** Rejection of a call that several things were wrong with. `problem` is the first of `problems`. */
export class CallError extends ProblemError {
  readonly problems: readonly ProblemError['problem'][]
  constructor(problems: readonly ProblemError['problem'][]) {
    super(problems[0])
    this.name = 'CallError'
    this.problems = problems
  }
}

const outcomeSchema: z.ZodType<Outcome> = z.union([
  z.object({ ok: z.literal(true), reply: z.unknown() }),
  z.object({ ok: z.literal(false), problems: z.array(problemSchema).min(1) }),
])

/** The window's side of the contract over any channel. */
export function makeClient<C extends Contract>(contract: C, channel: Channel): Client<C> {
  return {
    async call(method, request) {
      const schemas = contract.methods[method]
      const checked = schemas.request.safeParse(request)
      if (!checked.success) throw new CallError(problemsOfZod(checked.error, 'api.request'))
      const outcome = outcomeSchema.safeParse(await channel.call(method, request))
      if (!outcome.success) throw strange(method)
      if (!outcome.data.ok) throw new CallError(outcome.data.problems)
      const reply = schemas.reply.safeParse(outcome.data.reply)
      if (!reply.success) throw strange(method, problemsOfZod(reply.error, 'api.reply', 1)[0]?.field)
      return reply.data as ReplyOf<C, typeof method>
    },
    on(event, listener) {
      const schema = contract.events[event]
      return channel.listen((name, data) => {
        if (name !== event) return
        const checked = schema.safeParse(data)
        if (checked.success) listener(checked.data as EventOf<C, typeof event>)
      })
    },
  }
}

const strange = (method: string, field?: string): CallError =>
  new CallError([
    {
      code: 'api.reply',
      message: `The answer to '${method}' is not what this window understands.`,
      ...(field === undefined ? {} : { field }),
      remedy: 'Close all windows of Preflash and start it again.',
    },
  ])
