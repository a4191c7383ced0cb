import { useCallback, useEffect, useState } from 'react'
import type { PortInfo } from '../../../shared/api/ports.ts'
import type { Problem } from '../../../shared/model/problem.ts'
import { problemsOf } from '../../ui/Notice.tsx'
import type { ProgramClient } from './client.ts'

const isUnwatched = ({ kind }: PortInfo): boolean => kind === 'typed'

export interface PortsDesk {
  /** Undefined until the machine has answered for the first time. */
  readonly ports: readonly PortInfo[] | undefined
  readonly problems: readonly Problem[]
  /** Counts the changes, so that whatever rests on ports can be asked anew. */
  readonly changes: number
  readonly name: (place: string, name: string) => void
  /** @returns the place of what was typed in; undefined where it was not taken */
  readonly add: (typed: string) => Promise<string | undefined>
  readonly remove: (place: string) => void
}

/** The machine watches the ports it lists by itself; whether a path that was typed in is still there is asked for. */
const ASK_MS = 2000

/**
 * All ports, as they come and go.
 * @param live stands for the ports that are written through: when one of them begins or ends, all is asked for anew
 */
export function usePorts(client: ProgramClient, live = ''): PortsDesk {
  const [ports, setPorts] = useState<readonly PortInfo[]>()
  const [problems, setProblems] = useState<readonly Problem[]>([])
  const [changes, setChanges] = useState(0)
  const take = useCallback(
    async (
      asked: Promise<{ ports: readonly PortInfo[]; problem?: Problem | undefined }>,
    ): Promise<readonly PortInfo[]> => {
      try {
        const { ports: listed, problem } = await asked
        setPorts(listed)
        setProblems(problem === undefined ? [] : [problem])
        setChanges(n => n + 1)
        return listed
      } catch (error) {
        setProblems(problemsOf(error))
        return []
      }
    },
    [],
  )
  // biome-ignore lint/correctness/useExhaustiveDependencies: a port that a write takes or leaves has another state
  useEffect(() => {
    const ask = () => void take(client.call('ports.list', {}))
    ask()
    return client.on('ports.changed', ask)
  }, [client, take, live])
  useEffect(() => {
    if (ports === undefined || !ports.some(isUnwatched)) return
    const look = () =>
      client.call('ports.list', {}).then(
        ({ ports: now }) => {
          if (JSON.stringify(now) !== JSON.stringify(ports)) void take(Promise.resolve({ ports: now }))
        },
        // It is asked again; what the list says until then stands.
        () => undefined,
      )
    const timer = setInterval(() => void look(), ASK_MS)
    return () => clearInterval(timer)
  }, [client, ports, take])
  return {
    ports,
    problems,
    changes,
    name: (place, name) => void take(client.call('ports.name', { place, name })),
    add: async typed => {
      const before = new Set(ports?.map(port => port.place))
      const listed = await take(client.call('ports.add', { typed }))
      const asTyped = listed.find(port => port.place === typed.trim())
      return (asTyped ?? listed.find(port => !before.has(port.place)))?.place
    },
    remove: place => void take(client.call('ports.remove', { place })),
  }
}
