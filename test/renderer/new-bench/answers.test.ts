import { describe, expect, it } from 'vitest'
import {
  type Answers,
  doNotKnow,
  isAnswered,
  isNotKnown,
  isSettled,
  mistakes,
  QUESTION_IDS,
  readName,
  readVersion,
  readVolts,
} from '../../../renderer/new-bench/answers.ts'

describe('what is made of answers', () => {
  it.each([
    ['2.3.1', '2.3.1'],
    [' v2.3 ', '2.3.0'],
    ['V 7', '7.0.0'],
    ['02.030.1', '2.30.1'],
    ['2.3.1.4', undefined],
    ['2.3beta', undefined],
    ['65535.0.1', '65535.0.1'],
    ['220406', undefined],
    ['', undefined],
    [null, undefined],
  ])('version %j is %j', (text, version) => expect(readVersion(text)).toBe(version))

  it.each([
    ['7,4', 7.4],
    ['5 V', 5],
    ['0.4', undefined],
    ['61', undefined],
    ['-5', undefined],
    ['five', undefined],
  ])('%j volts are %j', (text, volts) => expect(readVolts(text)).toBe(volts))

  it('takes a name without the blanks around it, and no longer than a label', () => {
    expect(readName('  Tarn 16 ')).toBe('Tarn 16')
    expect(readName('   ')).toBeUndefined()
    expect(readName('x'.repeat(200))).toHaveLength(80)
  })

  it.each(QUESTION_IDS)('%s can be answered with "I don’t know", and only then goes on', id => {
    expect(isAnswered({}, id)).toBe(false)
    expect(Object.keys(mistakes({}, id))).toHaveLength(1)
    const answers = doNotKnow({}, id)
    expect(isAnswered(answers, id)).toBe(true)
    expect(isNotKnown(answers, id)).toBe(true)
    expect(mistakes(answers, id)).toEqual({})
    expect(isSettled(answers, id)).toBe(true)
  })

  it.each<[keyof Answers, Answers, 'module-firmware' | 'receiver-firmware' | 'feed']>([
    ['moduleFirmware', { moduleFirmware: 'the newest' }, 'module-firmware'],
    ['receiverFirmware', { receiverFirmware: '2.x' }, 'receiver-firmware'],
    ['feedVolts', { feed: 'own-supply', feedVolts: 'two cells' }, 'feed'],
    ['labelMostVolts', { feed: 'through-cable', labelMostVolts: '100' }, 'feed'],
    ['labelMostVolts', { feed: null, labelLeastVolts: '6', labelMostVolts: '5' }, 'feed'],
  ])('says what is wrong with %s', (field, answers, id) => {
    expect(Object.keys(mistakes(answers, id))).toEqual([field])
  })

  it('does not ask for volts that nobody needs', () => {
    expect(mistakes({ feed: 'own-supply', feedVolts: '' }, 'feed')).toEqual({})
    expect(mistakes({ feed: 'through-cable', feedVolts: 'left from before' }, 'feed')).toEqual({})
    expect(mistakes({ receiverMaker: 'Aldwick', receiverName: '' }, 'receiver')).toEqual({})
  })
})
