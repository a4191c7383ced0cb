import { withUnit } from '../fit/rule.ts'
import type { Bench, BuiltImage } from '../model/bench.ts'
import type { ModuleType, ReceiverType } from '../model/catalogue.ts'
import { ProblemError } from '../model/problem.ts'
import { applyFaults, type FaultName } from '../sim/faults.ts'
import type { Setup, World } from '../sim/world.ts'
import { TWIN } from './twin.ts'

/** What a cause changes on a twin's table; what comes of it is the simulated devices' own affair. */
export type Put = (setup: Setup) => Setup

/** A fault of the simulator, with its value where it takes one. */
export const fault =
  (name: FaultName, value?: string): Put =>
  setup => {
    const applied = applyFaults(setup, [{ name, ...(value === undefined ? {} : { value }) }])
    if (!applied.ok) throw new ProblemError(applied.problems[0])
    return applied.value
  }

export const inWorld =
  (change: Partial<World>): Put =>
  setup => ({ ...setup, world: { ...setup.world, ...change } })

export const onBench =
  (change: (bench: Bench) => Bench): Put =>
  setup => ({ ...setup, bench: change(setup.bench) })

const unit = <K extends 'radios' | 'modules' | 'receivers' | 'supplies' | 'cables' | 'cards'>(
  list: K,
  id: string,
  change: Partial<Bench[K][number]>,
): Put => onBench(bench => withUnit(bench, list, id, change))

export const inModule = (change: Partial<Bench['modules'][number]>) => unit('modules', TWIN.module, change)
export const inRadio = (change: Partial<Bench['radios'][number]>) => unit('radios', TWIN.radio, change)
export const inReceiver = (change: Partial<Bench['receivers'][number]>) =>
  unit('receivers', TWIN.receiver, change)
export const inCard = (change: Partial<Bench['cards'][number]>) => unit('cards', TWIN.card, change)
export const inSupply = (change: Partial<Bench['supplies'][number]>) => unit('supplies', TWIN.supply, change)

export const inImage = (change: Partial<BuiltImage>): Put =>
  onBench(bench => ({ ...bench, images: bench.images.map(image => ({ ...image, ...change })) }))

export const inReceiverType = (change: Partial<ReceiverType>): Put =>
  onBench(bench => ({
    ...bench,
    catalogue: {
      ...bench.catalogue,
      receiverTypes: bench.catalogue.receiverTypes.map(type => ({ ...type, ...change })),
    },
  }))

export const inModuleType = (change: Partial<ModuleType>): Put =>
  onBench(bench => ({
    ...bench,
    catalogue: {
      ...bench.catalogue,
      moduleTypes: bench.catalogue.moduleTypes.map(type => ({ ...type, ...change })),
    },
  }))

/** The cable without this wire. */
export const withoutWire = (role: 'signal' | 'positive' | 'negative'): Put =>
  onBench(bench => ({
    ...bench,
    cables: bench.cables.map(cable => ({ ...cable, wires: cable.wires.filter(w => w.from !== role) })),
  }))

/** One after the other. */
export const both =
  (first: Put, second: Put): Put =>
  setup =>
    second(first(setup))
