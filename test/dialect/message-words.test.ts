import { describe, expect, it } from 'vitest'
import { builtInDialects } from '../../shared/dialect/built-in/all.ts'
import { messageNames } from '../../shared/dialect/message-words.ts'
import type { RequestStep, Step } from '../../shared/dialect/schema-steps.ts'

/** Every request that stands anywhere in these steps. */
const requestsIn = (steps: readonly Step[]): RequestStep[] =>
  steps.flatMap(step => [
    ...(step.do === 'request' ? [step] : []),
    ...('steps' in step ? requestsIn(step.steps) : []),
    ...(step.do === 'when' ? requestsIn(step.otherwise) : []),
  ])

describe.each([...builtInDialects()])('the messages of %s', (_, dialect) => {
  const names = messageNames(dialect)
  const at = { block: dialect.block.firstNumber + 42 }

  it('each have a name for people, which is not the one of the documentation', () => {
    expect(names.size).toBeGreaterThan(0)
    for (const [step, name] of names) {
      expect(name(at)).toMatch(/^(the (call|question|order|message|request) |block 43$)/)
      expect(name(at)).not.toBe(step.what)
    }
  })

  it('are counted from the first block on, whatever number that has on the line', () => {
    for (const step of requestsIn(dialect.write.block)) expect(names.get(step)?.(at)).toBe('block 43')
  })
})
