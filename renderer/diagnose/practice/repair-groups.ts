import type { Part } from '../../../shared/diagnose/causes.ts'
import type { RepairToDo } from '../../../shared/diagnose/exercise.ts'

export const partWords: Readonly<Record<Part, string>> = {
  image: 'The image',
  card: 'The card',
  radio: 'The radio',
  module: 'The module',
  cable: 'The cable',
  supply: 'The supply',
  sensor: 'The sensors',
  air: 'The air, and where things stand',
  setting: 'Settings',
  receiver: 'The receiver',
}
const PARTS = Object.keys(partWords) as Part[]

/** By where they sit, parts without a repair left out. */
export const repairsByPart = (repairs: readonly RepairToDo[]): [Part, RepairToDo[]][] =>
  PARTS.map((part): [Part, RepairToDo[]] => [part, repairs.filter(r => r.part === part)]).filter(
    ([, some]) => some.length > 0,
  )

/** @returns those with all of these words, in any order; undefined where nothing is looked for */
export function foundRepairs(repairs: readonly RepairToDo[], find: string): RepairToDo[] | undefined {
  const words = find.toLowerCase().split(/\s+/).filter(Boolean)
  if (words.length === 0) return undefined
  return repairs.filter(({ label, repair, part }) => {
    const text = `${label} ${repair} ${partWords[part]}`.toLowerCase()
    return words.every(word => text.includes(word))
  })
}
