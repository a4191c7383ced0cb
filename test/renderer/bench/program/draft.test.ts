import { describe, expect, it } from 'vitest'
import {
  draftOfPlan,
  freshDraft,
  planOf,
  portsOf,
  portsToBegin,
  usualBaud,
} from '../../../../renderer/bench/program/draft.ts'
import { writePlanSchema } from '../../../../shared/bench-run/plan.ts'
import { demoBench, demoDefaults } from '../../../../shared/demo/bench.ts'

const bench = demoBench()
const image = { kind: 'bench', imageId: demoDefaults.imageId } as const
const chosen = {
  ...freshDraft(null),
  port: '/dev/ttyUSB0',
  wiring: { adapterId: 'bench-programmer', cableId: 'programmer-cable', feed: 'through-cable' },
  dialect: 'preflash-bus',
} as const

describe('the draft of a write', () => {
  it('is a plan that the machine takes, once everything is chosen', () => {
    const plan = planOf(bench, demoDefaults.receiverId, image, false, chosen)
    expect(writePlanSchema.safeParse(plan).success).toBe(true)
    expect(plan).toMatchObject({
      port: '/dev/ttyUSB0',
      adapterId: 'bench-programmer',
      dialect: 'preflash-bus',
    })
  })

  it.each([
    ['port', { ...chosen, port: undefined }],
    ['adapter', { ...chosen, wiring: { ...chosen.wiring, adapterId: undefined } }],
    ['cable', { ...chosen, wiring: { ...chosen.wiring, cableId: undefined } }],
    ['adapter that is on the bench', { ...chosen, wiring: { ...chosen.wiring, adapterId: 'gone' } }],
    ['cable that is on the bench', { ...chosen, wiring: { ...chosen.wiring, cableId: 'gone' } }],
    ['dialect', { ...chosen, dialect: undefined }],
  ])('is none without a %s', (_, draft) => {
    expect(planOf(bench, demoDefaults.receiverId, image, false, draft)).toBeUndefined()
  })

  it('is none without an image', () => {
    expect(planOf(bench, demoDefaults.receiverId, undefined, false, chosen)).toBeUndefined()
  })

  it('goes through the ports of the batch in a batch, and through its own alone', () => {
    const both = { ...chosen, ports: ['/dev/ttyUSB1', '/dev/ttyUSB2'] }
    expect(portsOf(both)).toEqual(['/dev/ttyUSB0'])
    expect(portsOf({ ...both, mode: 'batch' })).toEqual(['/dev/ttyUSB1', '/dev/ttyUSB2'])
  })

  it('begins a batch with the ports of the one before that are still there, or with its own', () => {
    const both = { ...chosen, ports: ['/dev/ttyUSB1', '/dev/ttyUSB2'] }
    expect(portsToBegin(both, undefined)).toEqual(both.ports)
    expect(portsToBegin(both, [{ place: '/dev/ttyUSB2' }])).toEqual(['/dev/ttyUSB2'])
    expect(portsToBegin(both, [])).toEqual(['/dev/ttyUSB0'])
    expect(portsToBegin({ ...both, port: undefined }, [])).toEqual([])
  })

  it('remembers what was set last, and passes over what is no such thing', () => {
    const kept = JSON.stringify({
      port: chosen.port,
      wiring: chosen.wiring,
      dialect: 'xmodem-crc',
      baud: 9600,
    })
    expect(freshDraft(kept)).toMatchObject({ port: '/dev/ttyUSB0', dialect: 'xmodem-crc', baud: 9600 })
    for (const wrong of ['', '{', '[]', '{"wiring":3}', '{"wiring":{"feed":"mains"}}'])
      expect(freshDraft(wrong)).toEqual(freshDraft(null))
  })

  it('never remembers what was seen on the table', () => {
    const kept = JSON.stringify({ ...chosen, cautions: { key: 'k', answers: { motor: 'nothing' } } })
    expect(freshDraft(kept).cautions).toEqual({ key: '', answers: {} })
  })

  it('is set again from a plan, with the session that it puts right', () => {
    const plan = writePlanSchema.parse(planOf(bench, demoDefaults.receiverId, image, false, chosen))
    const again = draftOfPlan(plan, 'session')
    expect(again).toMatchObject({ port: chosen.port, wiring: chosen.wiring, recovers: 'session' })
    expect(again.cautions.answers).toEqual({})
    expect(planOf(bench, demoDefaults.receiverId, image, false, again)).toEqual({
      ...plan,
      expect: undefined,
    })
  })

  it('takes the usual rate from the dialect, and that of the bus from the type', () => {
    expect(usualBaud(bench, demoDefaults.receiverId, [57_600, 9600])).toBe(57_600)
    const type = bench.catalogue.receiverTypes.find(t => t.id === 'aldwick-wren-6')
    expect(type).toBeDefined()
    expect(usualBaud(bench, demoDefaults.receiverId, [])).toBe(type?.bus.baud)
  })
})
