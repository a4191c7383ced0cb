import { useCallback, useEffect, useState } from 'react'
import type { z } from 'zod'
import type { DialectListed, dialectsMethods } from '../../../shared/api/dialects.ts'
import type { Problem } from '../../../shared/model/problem.ts'
import { problemsOf } from '../../ui/Notice.tsx'
import type { ProgramClient } from './client.ts'

type Listed = z.infer<(typeof dialectsMethods)['dialects.list']['reply']>

export interface DialectsDesk {
  readonly dialects: readonly DialectListed[]
  readonly broken: Listed['broken']
  readonly problems: readonly Problem[]
  /** Null for the Preflash bus, which is no data. Rejects with problems. */
  readonly read: (name: string) => Promise<string | null>
  /** Rejects with problems that name line and field. */
  readonly save: (text: string) => Promise<{ readonly name: string; readonly replaced: boolean }>
  readonly remove: (name: string) => Promise<void>
}

/** The ways of writing that there are, those of the data folder too. */
export function useDialects(client: ProgramClient): DialectsDesk {
  const [listed, setListed] = useState<Listed>({ dialects: [], broken: [] })
  const [problems, setProblems] = useState<readonly Problem[]>([])
  const ask = useCallback(
    () =>
      client.call('dialects.list', {}).then(
        reply => {
          setListed(reply)
          setProblems([])
        },
        error => setProblems(problemsOf(error)),
      ),
    [client],
  )
  useEffect(() => {
    void ask()
    return client.on('dialects.changed', () => void ask())
  }, [client, ask])
  return {
    ...listed,
    problems,
    read: async name => (await client.call('dialects.read', { name })).text,
    save: async text => {
      const reply = await client.call('dialects.save', { text })
      setListed(reply)
      return reply
    },
    remove: async name => setListed(await client.call('dialects.remove', { name })),
  }
}
