import { describe, expect, it } from 'vitest'
import { type Answers, doNotKnow, FIELDS, QUESTION_IDS } from '../../../renderer/new-bench/answers.ts'
import { QUESTIONS, sayAnswer } from '../../../renderer/new-bench/questions.ts'
import { bandSchema, generationSchema, regionSchema, routeSchema } from '../../../shared/model/units.ts'
import { hexAnswer, octetsOf } from './sample-image.ts'

const question = (id: string) => QUESTIONS.find(q => q.id === id)!
const said = (answers: Answers, id: string) => sayAnswer(answers, question(id))

describe('the questions', () => {
  it('are there once each, in their order', () => {
    expect(QUESTIONS.map(q => q.id)).toEqual(QUESTION_IDS)
  })

  it('offer only answers that a bench can hold', () => {
    const schemas = {
      moduleBand: bandSchema,
      receiverBand: bandSchema,
      generation: generationSchema,
      region: regionSchema,
      route: routeSchema,
    }
    for (const { ask } of QUESTIONS) {
      if (ask.kind !== 'choice') continue
      expect(new Set(ask.choices.map(c => c.value)).size).toBe(ask.choices.length)
      if (Object.hasOwn(schemas, ask.field))
        for (const { value } of ask.choices)
          expect(schemas[ask.field as keyof typeof schemas].safeParse(value).success, String(value)).toBe(
            true,
          )
    }
  })

  it.each(QUESTIONS.map(q => [q.id, q] as const))(
    '%s: the list says nothing before, and "I don’t know" after it',
    (id, q) => {
      expect(sayAnswer({}, q)).toBeUndefined()
      expect(sayAnswer(doNotKnow({}, id), q)).toBe(id === 'image' ? 'none yet' : 'not known')
    },
  )

  it('have every choice said in words in the list', () => {
    for (const { id, ask } of QUESTIONS)
      if (ask.kind === 'choice' || ask.kind === 'feed')
        for (const { value } of ask.choices)
          expect(said({ [FIELDS[id][0]]: value }, id), String(value)).toMatch(/\S/)
    expect(said({ receiverMaker: ' Aldwick ', receiverName: '' }, 'receiver')).toBe('Aldwick')
    expect(said({ moduleFirmware: 'v4.1' }, 'module-firmware')).toBe('4.1.0')
    expect(said({ moduleBand: '868MHz' }, 'module-band')).toBe('868 MHz')
    expect(said({ image: hexAnswer({ address: 0, octets: octetsOf(9) }) }, 'image')).toBe('own.hex')
  })

  it('warn of the propeller where there is one or nobody knows, and of a second supply', () => {
    const model = question('model')
    expect(model.caution?.({ model: 'propeller' })).toContain('propeller or rotor off')
    expect(model.caution?.({ model: null })).toContain('propeller or rotor off')
    expect(model.caution?.({ model: 'none' })).toBeUndefined()
    const feed = question('feed')
    for (const answer of ['through-cable', 'own-supply', null] as const)
      expect(feed.caution?.({ feed: answer })).toContain('One supply only')
    expect(feed.caution?.({ feed: 'through-cable', route: 'wireless' })).toContain(
      'needs a supply at the receiver',
    )
  })
})
