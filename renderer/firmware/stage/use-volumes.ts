import { useCallback, useEffect, useRef, useState } from 'react'
import type { ListedVolume } from '../../../shared/api/card.ts'
import type { Problem } from '../../../shared/model/problem.ts'
import type { AppClient } from '../../api/client.ts'
import { problemsOf } from '../../ui/Notice.tsx'
import { changeWords } from './volume-words.ts'

export type CardClient = Pick<AppClient, 'call' | 'on'>

const AGAIN_MS = 2000

export interface VolumesDesk {
  /** Undefined until the first answer has come. */
  readonly volumes: readonly ListedVolume[] | undefined
  readonly problems: readonly Problem[]
  /** What came or went last, in a sentence. */
  readonly told: string
}

/** The mounted volumes, asked for again and again while somebody looks. */
export function useVolumes(client: CardClient): VolumesDesk {
  const [desk, setDesk] = useState<VolumesDesk>({ volumes: undefined, problems: [], told: '' })
  const latest = useRef(desk)
  const look = useCallback(async () => {
    let next: VolumesDesk
    try {
      const { volumes } = await client.call('card.volumes', {})
      const before = latest.current.volumes
      const told = (before && changeWords(before, volumes)) ?? latest.current.told
      next = { volumes, problems: [], told }
    } catch (error) {
      next = { ...latest.current, problems: problemsOf(error) }
    }
    // Nothing new is no reason to draw.
    if (JSON.stringify(next) === JSON.stringify(latest.current)) return
    latest.current = next
    setDesk(next)
  }, [client])
  useEffect(() => {
    let timer: ReturnType<typeof setTimeout> | undefined
    let isOver = false
    const round = async () => {
      await look()
      if (!isOver) timer = setTimeout(round, AGAIN_MS)
    }
    void round()
    return () => {
      isOver = true
      clearTimeout(timer)
    }
  }, [look])
  return desk
}
