import { sameValue } from '../dialect/identity.ts'
import { versionShown } from '../model/version.ts'
import type { Said } from './check.ts'
import type { Difference } from './lane.ts'

/** What a receiver said of itself, held against what was rehearsed. */

type SaidOtherwise = Pick<Difference, 'expected' | 'seen' | 'severity'> & Pick<Said, 'when'>

/** @returns a difference for each field that says something else; what was not asked differs in nothing */
export function differsInWord(rehearsed: readonly Said[], real: readonly Said[]): SaidOtherwise[] {
  return rehearsed.flatMap(wanted => {
    const { when, label, value, isSure } = wanted
    if (!real.some(said => said.when === when)) return []
    const said = real.find(one => one.when === when && one.name === wanted.name)
    if (said !== undefined && isSame(wanted, said)) return []
    return [
      {
        when,
        expected: `${label} ${value}${isSure ? '' : ', which is an example only'}`,
        seen: said === undefined ? `no ${label}` : `${label} ${said.value}`,
        severity: isSure ? severityOf(wanted) : 'expected',
      },
    ]
  })
}

/** Another type, version or size may be another receiver than the one that was rehearsed with. */
const severityOf = ({ role, name }: Said): Difference['severity'] =>
  role === 'other' && !name.endsWith('-flash') ? 'note' : 'look'

const isSame = (wanted: Said, said: Said): boolean =>
  wanted.role === 'version'
    ? sameValue(wanted.value, said.value) || versionShown(said.value, wanted.value, 'numbers').is !== 'other'
    : sameValue(wanted.value, said.value)
