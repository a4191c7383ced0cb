import { describe, expect, it } from 'vitest'
import { misplacements, plugFindings } from '../../shared/wiring/plug.ts'
import { check, codes, setupWith } from '../support/wiring-bench.ts'

describe('a plug that goes in wrongly', () => {
  const at = (end: string, how: string) => {
    const found = misplacements(setupWith()).find(m => m.end === end && m.how === how)
    if (found === undefined) throw new Error(`no ${how} at the ${end}`)
    return found
  }

  it('at the receiver: positive in the middle, so turned round swaps ground and signal', () =>
    // Common practice, no source: reference-values.md, section 12, first point.
    expect(at('receiver', 'turned-round').worst).toMatchObject({ code: 'ground-on-signal', pin: 1 }))

  it('at the receiver: one pin off puts the supply on signal, or on negative', () => {
    expect(at('receiver', 'one-pin-down').worst).toMatchObject({
      code: expect.stringMatching(/^(supply-on-signal|ground-on-positive)$/),
    })
    expect(at('receiver', 'one-pin-up').worst?.code).toBe('supply-reversed')
  })

  it('at the adapter: turned round, the supply is where RX belongs', () =>
    expect(at('adapter', 'turned-round').worst?.severity).toBe('danger'))

  it('is possible only without a key at plug or socket, and not known where one of them is not', () => {
    const possible = (keyed: boolean | 'unknown', plugKeyed: boolean | 'unknown' | undefined) =>
      misplacements(setupWith({ connector: { keyed }, cable: { plugKeyed } }))[0].possible
    expect(possible(true, true)).toBe(false)
    expect(possible(true, false)).toBe(true)
    expect(possible(false, true)).toBe(true)
    expect(possible(false, 'unknown')).toBe(true)
    expect(possible(true, 'unknown')).toBe('unknown')
    expect(possible(true, undefined)).toBe('unknown')
    expect(possible('unknown', true)).toBe('unknown')
  })

  it('is warned of, with what it would do, and a keyed plug cures it', () => {
    const { findings, safe } = check({ cable: { plugKeyed: false } })
    const found = findings.find(f => f.code === 'plug-can-turn' && /receiver/.test(f.why))
    expect(safe).toBe(true)
    expect(found).toMatchObject({ severity: 'warn', pin: 1, cure: { id: 'keyed-plug' } })
    expect(found?.why).toMatch(/turned round, ground would come to the signal pin/)
    expect(codes(check().findings, 'ok').filter(c => c === 'keyed')).toHaveLength(1)
  })

  it('that is harmless is said to be', () => {
    const [receiver] = plugFindings(
      misplacements(setupWith({ cable: { plugKeyed: false } })).map(m => ({ ...m, worst: undefined })),
    )
    expect(receiver).toMatchObject({ code: 'keyed', severity: 'ok' })
    expect(receiver.why).toContain('nothing would be destroyed')
  })
})
