import { withUnit } from '../fit/rule.ts'
import { around, type Bench, type BuiltImage, findType } from '../model/bench.ts'
import type { ModuleType, ReceiverType } from '../model/catalogue.ts'
import { bandSchema, isKnown, type Route, UNKNOWN } from '../model/units.ts'
import type { FaultName } from '../sim/faults.ts'

/**
 * What each cause does to a whole bench, as against the twin's little table: a fault of the simulator, or a change of
 * the copy. A cause that is not here shows in no update.
 */
export type PlayForm =
  | {
      readonly kind: 'fault'
      readonly name: FaultName
      readonly value?: string | ((bench: Bench, on: FormOn) => string)
    }
  | {
      readonly kind: 'bench'
      /** Where it shows by one route only. */
      readonly routes?: readonly Route[]
      readonly change: (bench: Bench, on: FormOn) => Bench
    }
export interface FormOn {
  readonly receiverId: string
  readonly imageId: string
  readonly route: Route
}

const fault = (name: FaultName, value?: Extract<PlayForm, { kind: 'fault' }>['value']): PlayForm => ({
  kind: 'fault',
  name,
  ...(value === undefined ? {} : { value }),
})
const AIR: readonly Route[] = ['wireless']

const change = (
  make: (bench: Bench, on: FormOn) => Bench,
  routes?: readonly Route[],
): Extract<PlayForm, { kind: 'bench' }> => ({ kind: 'bench', change: make, ...(routes ? { routes } : {}) })

const inImage = (make: (bench: Bench, on: FormOn) => Partial<BuiltImage>, routes?: readonly Route[]) =>
  change(
    (bench, on) => ({
      ...bench,
      images: bench.images.map(image => (image.id === on.imageId ? { ...image, ...make(bench, on) } : image)),
    }),
    routes,
  )

const inReceiverType = (make: Partial<ReceiverType>, routes?: readonly Route[]) =>
  change((bench, { receiverId }) => {
    const typeId = around(bench, receiverId).receiver?.typeId
    const receiverTypes = bench.catalogue.receiverTypes.map(t => (t.id === typeId ? { ...t, ...make } : t))
    return { ...bench, catalogue: { ...bench.catalogue, receiverTypes } }
  }, routes)

const inModuleType = (make: (bench: Bench, on: FormOn) => Partial<ModuleType>) =>
  change((bench, on) => {
    const typeId = around(bench, on.receiverId).module?.typeId
    const moduleTypes = bench.catalogue.moduleTypes.map(t =>
      t.id === typeId ? { ...t, ...make(bench, on) } : t,
    )
    return { ...bench, catalogue: { ...bench.catalogue, moduleTypes } }
  }, AIR)

const typeOf = (bench: Bench, receiverId: string) =>
  findType(bench.catalogue, 'receiverTypes', around(bench, receiverId).receiver?.typeId ?? '') as
    | ReceiverType
    | undefined

const generationOf = (bench: Bench, receiverId: string): number => {
  const own = around(bench, receiverId).receiver?.generation
  const native = typeOf(bench, receiverId)?.nativeGeneration
  return typeof own === 'number' ? own : typeof native === 'number' ? native : 1
}
const otherThan = (generation: number): number => (generation > 1 ? generation - 1 : generation + 1)
const otherRegion = (bench: Bench, receiverId: string) =>
  around(bench, receiverId).receiver?.region === 'hopping' ? 'lbt' : 'hopping'

/** Resistance, in ohms, that leaves too little for a flash write by a hair, and enough for all that needs less. */
function tooManyOhms(bench: Bench, { receiverId, route }: FormOn): string {
  const { supply, radio } = around(bench, receiverId)
  const type = typeOf(bench, receiverId)
  const port = bench.catalogue.radioTypes.find(t => t.id === radio?.typeId)?.updatePort
  const ownVolts = supply?.volts ?? USUAL_VOLTS
  const throughCable = route === 'cable' && bench.wiring.cableFeed === 'through-cable'
  const volts = throughCable && typeof port === 'object' ? port.supplyVolts : ownVolts
  if (type === undefined) return '22'
  const air = route === 'wireless' ? type.draw.radioMilliamps : 0
  const amps = (type.draw.bootMilliamps + type.draw.flashMilliamps + air) / 1000
  return (Math.max(0, volts - type.supply.brownOutVolts + 0.05) / amps).toFixed(2)
}
const USUAL_VOLTS = 5

/** A pack that is much too strong, beside the cable that feeds the receiver already. */
function strongPackBesides(bench: Bench, { receiverId }: FormOn): Bench {
  const { supply } = around(bench, receiverId)
  const strong = { volts: 12, internalOhms: 0.02, limitMilliamps: 20_000 }
  if (supply !== undefined)
    return {
      ...withUnit(bench, 'supplies', supply.id, strong),
      wiring: { ...bench.wiring, cableFeed: 'both' },
    }
  const pack = { id: 'second-pack', nickname: 'Second pack', kind: 'pack' as const, ...strong }
  return {
    ...bench,
    supplies: [...bench.supplies, pack],
    wiring: { ...bench.wiring, cableFeed: 'both', benchSupplyId: pack.id },
  }
}

const forms: Readonly<Record<string, PlayForm>> = {
  'image-wrong-type': fault('wrong-type', 'labelled'),
  'image-damaged': fault('damaged-image', '4096'),
  'image-wrong-revision': inImage((bench, { receiverId }) => {
    const own = around(bench, receiverId).receiver?.hardwareRevision
    return { hardwareRevisions: [own === 'Z' ? 'Y' : 'Z'] }
  }),
  'image-wrong-generation': inImage((bench, { receiverId }) => ({
    generation: otherThan(generationOf(bench, receiverId)),
    convertsFrom: undefined,
  })),
  'image-wrong-region': inImage((bench, { receiverId }) => ({ region: otherRegion(bench, receiverId) })),
  'image-wrong-band': inImage((bench, { receiverId }) => ({
    bands: bandSchema.options
      .filter(band => !typeOf(bench, receiverId)?.bands.some(own => own === band))
      .slice(0, 1),
  })),
  'image-cable-only': inImage(() => ({ wirelessCapable: false }), AIR),
  'image-needs-step': change((bench, { receiverId, imageId }) => {
    const runs = around(bench, receiverId).receiver?.firmware ?? UNKNOWN
    // Where nobody knows what it runs, it runs something old.
    const old = isKnown(runs) ? runs : '1.0.0'
    return {
      ...withUnit(bench, 'receivers', receiverId, { firmware: old }),
      images: bench.images.map(i => (i.id === imageId ? { ...i, receiverFirmware: `>${old}` } : i)),
    }
  }),
  'card-not-seated': fault('card-not-seated'),
  'card-locked': change((bench, { receiverId }) =>
    withUnit(bench, 'cards', around(bench, receiverId).card?.id, { readOnly: true }),
  ),
  'card-full': fault('card-full', '4'),
  'card-contact': fault('card-pulled', '10'),
  'radio-battery-low': fault('radio-battery-low', '6.3'),
  'radio-system-old': change((bench, { receiverId, imageId }) => ({
    ...withUnit(bench, 'radios', around(bench, receiverId).radio?.id, { systemVersion: '0.9.0' }),
    images: bench.images.map(image =>
      image.id === imageId ? { ...image, radioSystem: image.radioSystem ?? '>=1.0.0' } : image,
    ),
  })),
  'module-absent': change((bench, { receiverId }) => {
    const { module, receiver } = around(bench, receiverId)
    return {
      ...bench,
      radios: bench.radios.map(r => ({ ...r, moduleIds: r.moduleIds.filter(id => id !== module?.id) })),
      // It is the receiver's own module that is missed, whichever the radio offers instead.
      receivers: bench.receivers.map(r => (r === receiver ? { ...r, boundTo: module?.id } : r)),
    }
  }, AIR),
  'module-off': fault('module-off'),
  'module-no-updates': inModuleType(() => ({ wirelessUpdate: false })),
  'module-hardware': inModuleType((bench, { receiverId }) => ({
    generations: [otherThan(generationOf(bench, receiverId))],
  })),
  'module-generation': fault('module-generation', 'other'),
  'module-band': fault('module-band', 'other'),
  'module-region': change(
    (bench, { receiverId }) =>
      withUnit(bench, 'modules', around(bench, receiverId).module?.id, {
        region: otherRegion(bench, receiverId),
      }),
    AIR,
  ),
  'module-too-old': fault('module-too-old'),
  'module-too-new': fault('module-too-new'),
  'receiver-not-by-air': inReceiverType({ wirelessUpdate: false }, AIR),
  'receiver-first-by-cable': inReceiverType({ wirelessFrom: '99.0.0' }, AIR),
  'slow-settle': fault('slow-settle', '3'),
  'binding-lost': fault('binding-lost'),
  'worn-flash': fault('worn-flash', '2048'),
  'receiver-dead': fault('receiver-dead'),
  'supply-missing': change((bench, { receiverId }) => {
    const { module, model, receiver } = around(bench, receiverId)
    return {
      ...bench,
      receivers: bench.receivers.map(r => (r === receiver ? { ...r, boundTo: module?.id } : r)),
      models: bench.models.filter(m => m !== model),
      wiring: { ...bench.wiring, benchSupplyId: undefined },
    }
  }, AIR),
  'supply-too-low': change((bench, { receiverId }) => {
    const least = typeOf(bench, receiverId)?.supply.brownOutVolts ?? 3
    return withUnit(bench, 'supplies', around(bench, receiverId).supply?.id, { volts: least * 0.8 })
  }, AIR),
  'supply-sag': fault('supply-sag', tooManyOhms),
  'power-lost': fault('power-cut', '15'),
  'second-supply': change(strongPackBesides, ['cable']),
  'signal-wire-open': fault('signal-wire-open'),
  'near-end-open': fault('near-end-open'),
  'near-end-deaf': fault('near-end-deaf'),
  'positive-wire-open': change(
    (bench, { receiverId }) => {
      const { cable } = around(bench, receiverId)
      return {
        ...bench,
        cables: bench.cables.map(c =>
          c === cable ? { ...c, wires: c.wires.filter(w => w.from !== 'positive') } : c,
        ),
        wiring: { ...bench.wiring, cableFeed: 'through-cable' },
      }
    },
    ['cable'],
  ),
  'cable-loose': fault('cable-loose', '15'),
  'line-noise': fault('line-noise', '0.004'),
  'cable-reversed': fault('reversed-cable'),
  'chatty-sensor': fault('chatty-sensor', '20'),
  'out-of-range': fault('out-of-range', '4000'),
  'too-close': fault('too-close', '0.03'),
  interference: fault('interference', '97'),
}

export const formOf = (causeId: string): PlayForm | undefined => forms[causeId]
