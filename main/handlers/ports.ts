import type { AppContract } from '../../shared/api/contract.ts'
import type { Handlers } from '../../shared/api/define.ts'
import type { portsMethods } from '../../shared/api/ports.ts'
import { Ports } from '../serial/list.ts'
import { PortsFile } from '../serial/ports-file.ts'
import { PortWatch } from '../serial/watch-ports.ts'
import type { HandlerEnv } from './index.ts'

/** `ports.…`: serial ports, their names, and those that were typed in. */
export function portsHandlers({
  dataFolder,
  events,
  ports: machine,
}: Pick<HandlerEnv, 'dataFolder' | 'events' | 'ports'>): Pick<
  Handlers<AppContract>,
  keyof typeof portsMethods
> {
  const ports = new Ports(new PortsFile(dataFolder), machine)
  const changed = () => events.emit('ports.changed', {})
  const watch = new PortWatch(changed)
  /** Other windows show the list, too. */
  const told = <T>(list: T): T => {
    changed()
    return list
  }
  return {
    'ports.list': () => {
      watch.start()
      return ports.list()
    },
    'ports.name': async ({ place, name }) => told(await ports.name(place, name)),
    'ports.add': async ({ typed }) => told(await ports.add(typed)),
    'ports.remove': async ({ place }) => told(await ports.remove(place)),
  }
}
