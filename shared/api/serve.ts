import type { Problem } from '../model/problem.ts'
import { ProblemError, type Result } from '../model/problem.ts'
import type { Contract, EventName, EventOf, Handlers, MethodName, Outcome } from './define.ts'
import { problemsOfZod } from './define.ts'

export type Serve = (method: string, request: unknown) => Promise<Outcome>

/** Several problems that have to cross a call stack together, as a bench file with three wrong fields has. */
export class ProblemsError extends Error {
  readonly problems: readonly Problem[]
  constructor(problems: readonly Problem[]) {
    super(problems.map(problem => problem.message).join(' '))
    this.name = 'ProblemsError'
    this.problems = problems
  }
}

/** What came of it. @throws ProblemsError with what was wrong, which goes to the window as it is */
export function need<T>(result: Result<T>): T {
  if (!result.ok) throw new ProblemsError(result.problems)
  return result.value
}

const UNEXPECTED: Problem = {
  code: 'api.unexpected',
  message: 'Something went wrong inside Preflash.',
  remedy: 'Try again; if it happens again, please report it with what you did just before.',
}

/**
 * Answers calls by name: validates the request, runs the handler, validates its reply. The promise never rejects.
 * An error that is not a ProblemError or ProblemsError is told to `report` and answered with a general problem:
 * neither its message nor its stack goes to the caller.
 */
export function serveContract<C extends Contract>(
  contract: C,
  handlers: Handlers<C>,
  report: (error: unknown, method: string) => void = () => {},
): Serve {
  return async (method, request) => {
    if (!isMethod(contract, method)) {
      return refuse({ code: 'api.method', message: 'The window asked for something this version cannot do.' })
    }
    const schemas = contract.methods[method]
    try {
      const received = schemas.request.safeParse(request)
      if (!received.success) return refuse(...problemsOfZod(received.error, 'api.request'))
      const given = await handlers[method](received.data as Parameters<Handlers<C>[typeof method]>[0])
      const reply = schemas.reply.safeParse(given)
      if (reply.success) return { ok: true, reply: reply.data }
      report(reply.error, method)
      return refuse(UNEXPECTED)
    } catch (error) {
      if (error instanceof ProblemError) return refuse(error.problem)
      if (error instanceof ProblemsError && error.problems.length > 0) return refuse(...error.problems)
      report(error, method)
      return refuse(UNEXPECTED)
    }
  }
}

const refuse = (...problems: readonly Problem[]): Outcome => ({ ok: false, problems })

function isMethod<C extends Contract>(contract: C, method: string): method is MethodName<C> {
  return Object.hasOwn(contract.methods, method)
}

export type EventListener = (event: string, data: unknown) => void
export interface Events<C extends Contract> {
  /** Tells every listener. Throws ZodError when the data does not fit the contract: a mistake in the program. */
  emit<E extends EventName<C>>(event: E, data: EventOf<C, E>): void
  /** Listens to all events until the returned function is called. */
  listen(listener: EventListener): () => void
}

/** The sending half of the contract's events: handlers emit, transports listen. */
export function makeEvents<C extends Contract>(contract: C): Events<C> {
  const listeners = new Set<EventListener>()
  return {
    emit(event, data) {
      const checked = contract.events[event].parse(data)
      for (const listener of [...listeners]) listener(event, checked)
    },
    listen(listener) {
      listeners.add(listener)
      return () => listeners.delete(listener)
    },
  }
}
