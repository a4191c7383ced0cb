import { describe, expect, it } from 'vitest'
import { findCause } from '../../shared/diagnose/causes.ts'
import { FAULT_NAMES, FAULTS, type FaultName } from '../../shared/sim/faults.ts'

/** The cause that a fault is in a diagnosis, where its id is another one. */
const CAUSE_OF: Partial<Record<FaultName, string>> = {
  'power-cut': 'power-lost',
  'wrong-type': 'image-wrong-type',
  'damaged-image': 'image-damaged',
  'card-pulled': 'card-contact',
  'reversed-cable': 'cable-reversed',
}

/** These say on purpose less than the cause: one way in which it comes about, chosen for a rehearsal. */
const ONE_WAY_OF_IT: readonly FaultName[] = ['power-cut', 'card-pulled']

const SMALL = ['a', 'at', 'for', 'in', 'not', 'of', 'on', 'that', 'the', 'to', 'under', 'with']
const wordsOf = (label: string): string[] => label.toLowerCase().match(/[a-z]+/g) ?? []

describe('what can be switched on in a rehearsal, and what a diagnosis finds', () => {
  it('is said with the same words, here in short, there in a sentence', () => {
    const others = FAULTS.filter(({ name, label }) => {
      const cause = findCause(CAUSE_OF[name] ?? name)
      if (cause === undefined) throw new Error(`no cause for ${name}`)
      const inSentence = wordsOf(cause.label)
      return wordsOf(label).some(word => !SMALL.includes(word) && !inSentence.includes(word))
    })
    expect(others.map(fault => fault.name)).toEqual(ONE_WAY_OF_IT)
    expect(FAULTS).toHaveLength(FAULT_NAMES.length)
  })
})
