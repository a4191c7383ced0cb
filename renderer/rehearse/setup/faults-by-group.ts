import { FAULTS, type Fault, type FaultName } from '../../../shared/sim/faults.ts'

/** Faults in the order in which a person meets the things that they happen to. */
const GROUPS: readonly { readonly title: string; readonly names: readonly FaultName[] }[] = [
  {
    title: 'Power',
    names: ['power-cut', 'supply-sag', 'second-supply', 'reversed-cable', 'radio-battery-low'],
  },
  {
    title: 'Cable and bus',
    names: [
      'cable-loose',
      'signal-wire-open',
      'near-end-open',
      'near-end-deaf',
      'line-noise',
      'chatty-sensor',
    ],
  },
  { title: 'Receiver', names: ['slow-settle', 'worn-flash', 'receiver-dead'] },
  {
    title: 'Image and card',
    names: ['wrong-type', 'damaged-image', 'card-not-seated', 'card-pulled', 'card-full'],
  },
  {
    title: 'Module',
    names: ['module-off', 'module-generation', 'module-band', 'module-too-old', 'module-too-new'],
  },
  { title: 'Air', names: ['out-of-range', 'too-close', 'interference', 'antenna-damaged', 'binding-lost'] },
]

export interface FaultGroup {
  readonly title: string
  readonly faults: readonly Fault[]
}

/** All faults there are; those that no group names yet come last. */
export function faultGroups(): FaultGroup[] {
  const named = new Set(GROUPS.flatMap(group => group.names))
  const groups = GROUPS.map(({ title, names }) => ({
    title,
    faults: names.flatMap(name => FAULTS.filter(fault => fault.name === name)),
  }))
  const rest = FAULTS.filter(fault => !named.has(fault.name))
  return rest.length === 0 ? groups : [...groups, { title: 'Other', faults: rest }]
}
