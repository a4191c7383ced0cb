import { useEffect, useState } from 'react'
import type { AppContract } from '../../../shared/api/contract.ts'
import type { RequestOf } from '../../../shared/api/define.ts'
import { type Experience, NO_EXPERIENCE } from '../../../shared/experience/experience.ts'
import type { AppClient } from '../../api/client.ts'

export type ExperienceQuery = RequestOf<AppContract, 'log.experience'>

/**
 * What earlier updates on this bench have shown; nothing until it is there, nor where the logbook cannot say: it is a
 * help, and no reason to disturb anybody.
 * @param changed asked again when this changes
 */
export function useExperience(
  client: Pick<AppClient, 'call'>,
  { kind, benchName, way, typeId }: ExperienceQuery,
  changed = '',
): Experience {
  const [known, setKnown] = useState(NO_EXPERIENCE)
  // biome-ignore lint/correctness/useExhaustiveDependencies: what has changed is in the logbook
  useEffect(() => {
    let isCurrent = true
    client.call('log.experience', { kind, benchName, way, typeId }).then(
      found => isCurrent && setKnown(found),
      () => isCurrent && setKnown(NO_EXPERIENCE),
    )
    return () => {
      isCurrent = false
    }
  }, [client, kind, benchName, way, typeId, changed])
  return known
}
