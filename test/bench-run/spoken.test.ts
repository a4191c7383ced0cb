import { describe, expect, it } from 'vitest'
import { builtInChosen } from '../../shared/bench-run/chosen.ts'
import { checkWrite } from '../../shared/bench-run/preconditions.ts'
import {
  notSpoken,
  saySpoken,
  spokenBy,
  typeOfReceiver,
  usualDialect,
} from '../../shared/bench-run/spoken.ts'
import { demoBench } from '../../shared/demo/bench.ts'
import type { ReceiverType } from '../../shared/model/catalogue.ts'
import { succeeded } from '../../shared/model/problem.ts'
import { writePlan } from '../support/write-plan.ts'

const bench = demoBench()
const typeOf = (id: string) => typeOfReceiver(bench, id) as ReceiverType
const plover = typeOf('plover-soarer')
const wren = typeOf('wren-trainer')

describe('what a type says that it speaks', () => {
  it('is nothing of a receiver whose type nobody knows', () => {
    expect(typeOfReceiver(bench, 'flea-market')).toBeUndefined()
    expect(typeOfReceiver(bench, 'nobody')).toBeUndefined()
  })

  it('comes from its service connector and its bus', () => {
    expect(spokenBy(plover)).toEqual({ atService: ['st-an3155'], atPlug: ['preflash-bus'], isStated: true })
    expect(spokenBy(wren)).toEqual({ atService: [], atPlug: ['preflash-bus'], isStated: false })
    const withMore = { ...wren, bus: { ...wren.bus, dialects: ['mine'] } }
    expect(spokenBy(withMore)).toMatchObject({ atPlug: ['preflash-bus', 'mine'], isStated: true })
    expect(saySpoken(withMore)).toBe(
      'The Wren 6 speaks “Preflash bus” and “mine” at the plug of its update cable.',
    )
  })

  it('is the usual one, the first of the service connector', () => {
    expect(usualDialect(plover)).toBe('st-an3155')
    expect(usualDialect(typeOf('dunlin-ketch'))).toBe('xmodem-1k')
    expect(usualDialect(wren)).toBe('preflash-bus')
    expect(usualDialect({ ...plover, service: { ...plover.service!, dialects: [] } })).toBeUndefined()
  })

  it('refuses what it does not speak, and only where somebody has looked', () => {
    expect(notSpoken(plover, 'st-an3155')).toBeUndefined()
    expect(notSpoken(plover, 'preflash-bus')).toBeUndefined()
    expect(notSpoken(plover, 'ymodem')).toEqual({
      why: 'The Plover 10 speaks “ST AN3155, UART boot ROM” at its service connector, and “Preflash bus” at the plug of its update cable. “YMODEM” is not among them.',
      cure: 'Choose “ST AN3155, UART boot ROM”. If the papers of the receiver say otherwise, correct its type under Fleet.',
    })
    expect(notSpoken(wren, 'ymodem')).toBeUndefined()
    expect(saySpoken(wren)).toBeUndefined()
  })

  it('stops a write with another dialect, however it is wired', () => {
    const image = { kind: 'bench', imageId: 'plover-10-2.3.0' } as const
    const wired = { adapterId: 'service-adapter', cableId: 'service-cable' }
    const dialectOf = (dialect: string) =>
      checkWrite({
        plan: writePlan({ bench, receiverId: 'plover-soarer', image, dialect, ...wired }),
        chosen: succeeded(builtInChosen(dialect)!),
        port: { state: 'free', label: 'free', text: '' },
        answers: {},
        rehearsed: () => undefined,
      })
    const wrong = dialectOf('ymodem')
    expect(wrong.ready).toBe(false)
    expect(wrong.preconditions.find(p => p.id === 'dialect')).toMatchObject({
      holds: 'no',
      why: [expect.stringMatching(/“YMODEM” is not among them/)],
      cure: expect.stringMatching(/^Choose “ST AN3155/),
    })
    // Both speak at the same connector, so nothing is wrong with the wires.
    expect(wrong.preconditions.find(p => p.id === 'wiring')?.holds).toBe('yes')
    expect(dialectOf('st-an3155').preconditions.find(p => p.id === 'dialect')?.holds).toBe('yes')
  })
})
