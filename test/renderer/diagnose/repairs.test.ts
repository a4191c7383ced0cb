import { describe, expect, it } from 'vitest'
import { putOffNow, stillTheSame } from '../../../renderer/diagnose/repairs.ts'

const none = { tried: [], putOff: [], helped: undefined }
const module = { ids: ['module-off'], label: 'The module is switched off' }
const both = { ids: ['module-off', 'card-full'], label: 'The module is switched off and the card is full' }

describe('what became of a repair', () => {
  it('is remembered when it is put off, once for each cause, and is no longer put off once it was done', () => {
    const off = putOffNow(putOffNow(none, module), module)
    expect(off).toEqual({ ...none, putOff: [module] })
    expect(putOffNow(off, both).putOff).toEqual([both])
    expect(stillTheSame(off, module)).toEqual({ ...none, tried: [module] })
  })
})
