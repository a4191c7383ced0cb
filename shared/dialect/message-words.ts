import type { Context } from './context.ts'
import type { Dialect } from './schema.ts'
import type { RequestStep, Step } from './schema-steps.ts'

/**
 * What a request is called to people. The names in a dialect file are those of its documentation, "Write Memory" or
 * "Get ID"; what they are there for follows from where they stand.
 */
type Name = (c: Pick<Context, 'block'>) => string

/** The name of each request of a dialect, as a noun phrase within a sentence. */
export function messageNames(dialect: Dialect): ReadonlyMap<RequestStep, Name> {
  const names = new Map<RequestStep, Name>()
  const { firstNumber } = dialect.block
  const put = (steps: readonly Step[] | undefined, name: Name) => {
    for (const step of steps ?? []) {
      if (step.do === 'request') names.set(step, name)
      if ('steps' in step) put(step.steps, name)
      if (step.do === 'when') put(step.otherwise, name)
    }
  }
  put(dialect.enter, () => 'the call to its boot loader')
  put(dialect.identify?.steps, () => 'the question what it is')
  put(dialect.erase?.steps, () => 'the order to erase')
  put(dialect.write.before, () => 'the message that an image comes')
  put(dialect.write.block, c => `block ${c.block - firstNumber + 1}`)
  put(dialect.write.after, () => 'the message that all was sent')
  put(dialect.read?.steps, () => 'the request to read what it holds')
  put(dialect.digest?.steps, () => 'the question whether it holds the image')
  put(dialect.start, () => 'the order to start')
  return names
}
