import { describe, expect, it } from 'vitest'
import { z } from 'zod'
import { defineContract, octets, problemSchema, problemsOfZod } from '../../shared/api/define.ts'

const nothing = { request: z.strictObject({}), reply: z.strictObject({}) }

describe('defineContract', () => {
  it('hands back the contract it was given', () => {
    const contract = { methods: { 'bench.open': nothing }, events: { 'bench.changed': z.strictObject({}) } }
    expect(defineContract(contract)).toBe(contract)
  })

  it.each(['open', 'Bench.open', 'bench.', 'bench open', '__proto__', 'a.b-c'])(
    'refuses the name %s',
    name => {
      expect(() => defineContract({ methods: Object.fromEntries([[name, nothing]]), events: {} })).toThrow(
        name,
      )
      expect(() => defineContract({ methods: {}, events: Object.fromEntries([[name, z.null()]]) })).toThrow(
        name,
      )
    },
  )
})

describe('octets', () => {
  it('takes octets up to the length and nothing else', () => {
    expect(octets(2).safeParse(new Uint8Array(2)).success).toBe(true)
    expect(octets(2).safeParse(new Uint8Array(3)).success).toBe(false)
    expect(octets(2).safeParse([1, 2]).success).toBe(false)
  })
})

describe('problemsOfZod', () => {
  const schema = z.object({ units: z.object({ receivers: z.array(z.object({ firmware: z.string() })) }) })

  it('names the field the way a person would write it', () => {
    const parsed = schema.safeParse({ units: { receivers: [{ firmware: '1.0.0' }, { firmware: 7 }] } })
    const problems = problemsOfZod(parsed.error!, 'bench.field')
    expect(problems).toHaveLength(1)
    expect(problems[0]).toMatchObject({ code: 'bench.field', field: 'units.receivers[1].firmware' })
  })

  it('stops at the limit, however much is wrong', () => {
    const parsed = z.array(z.string()).safeParse(Array.from({ length: 1_000 }, () => 1))
    expect(problemsOfZod(parsed.error!, 'x', 3)).toHaveLength(3)
  })

  it('leaves the field out when the whole value is wrong', () => {
    expect(problemsOfZod(z.string().safeParse(1).error!, 'x')[0]).not.toHaveProperty('field')
  })
})

describe('problemSchema', () => {
  it('drops what is not part of a problem, such as a stack', () => {
    expect(problemSchema.parse({ code: 'a.b', message: 'm', stack: 'at x' })).toEqual({
      code: 'a.b',
      message: 'm',
    })
  })
})
