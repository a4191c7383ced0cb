import { describe, expect, it } from 'vitest'
import { builtInChosen } from '../../shared/bench-run/chosen.ts'
import { notSpoken, spokenBy, typeOfReceiver } from '../../shared/bench-run/spoken.ts'
import { demoBench } from '../../shared/demo/bench.ts'
import { programmerCable, programmerPins } from '../../shared/demo/make.ts'
import {
  serviceAdapters,
  serviceCables,
  serviceImages,
  serviceModels,
  serviceReceivers,
} from '../../shared/demo/service.ts'
import { serviceConnector, serviceTypes } from '../../shared/demo/service-types.ts'
import { builtFacts } from '../../shared/fit/built-facts.ts'
import { rankImages } from '../../shared/fit/rank.ts'
import { isKnown } from '../../shared/model/units.ts'

const bench = demoBench()

describe('the gear with a service connector', () => {
  it('stands at the end of every list, so that nothing before it has moved', () => {
    const end = <T>(list: readonly T[], count: number) => list.slice(-count)
    expect(end(bench.catalogue.receiverTypes, serviceTypes.length)).toEqual(serviceTypes)
    expect(end(bench.receivers, serviceReceivers.length)).toEqual(serviceReceivers)
    expect(end(bench.models, serviceModels.length)).toEqual(serviceModels)
    expect(end(bench.images, serviceImages.length)).toEqual(serviceImages)
    expect(end(bench.cables, serviceCables.length)).toEqual(serviceCables)
    expect(end(bench.adapters, serviceAdapters.length)).toEqual(serviceAdapters)
    expect(bench.catalogue.connectors.at(-1)).toEqual(serviceConnector)
  })

  it('has a receiver in a model for each published dialect, and each is there in truth', () => {
    const spoken = serviceReceivers.flatMap(({ id }) => {
      expect(bench.models.some(m => m.receiverIds.includes(id))).toBe(true)
      const type = typeOfReceiver(bench, id)
      return type ? spokenBy(type).atService : []
    })
    expect(spoken.toSorted()).toEqual(['st-an3155', 'xmodem-1k', 'xmodem-crc', 'ymodem'])
    for (const name of spoken) expect(builtInChosen(name)?.kind).toBe('data')
  })

  it('runs what one image of its type is, and a newer one fits it by cable and by air', () => {
    const candidates = bench.images.map(i => ({
      id: i.id,
      name: i.name,
      facts: builtFacts(
        i,
        bench.catalogue.receiverTypes.find(t => t.id === i.typeId),
      ),
    }))
    for (const { id, typeId, firmware } of serviceReceivers) {
      const own = bench.images.filter(i => i.typeId === typeId)
      expect(own.some(i => i.version === firmware)).toBe(true)
      const [newest] = own.toSorted((a, b) => b.sequenceNumber - a.sequenceNumber)
      expect(isKnown(firmware) && newest.version > firmware).toBe(true)
      for (const route of ['cable', 'wireless'] as const) {
        const [best] = rankImages(bench, id, route, candidates) ?? []
        expect([best?.candidate.id, best?.verdict]).toEqual([newest.id, 'fits'])
      }
    }
  })

  it('is refused to no dialect of a receiver that was there before', () => {
    for (const { id } of bench.receivers.slice(0, -serviceReceivers.length)) {
      const type = typeOfReceiver(bench, id)
      if (type) expect(notSpoken(type, 'preflash-bus')).toBeUndefined()
    }
  })

  it('goes onto adapters whose first four pins are the same', () => {
    for (const { pins } of bench.adapters) expect(pins.slice(0, 4)).toEqual(programmerPins)
    expect(programmerCable('x', 'X', []).plugKeyed).toBe(true)
  })
})
