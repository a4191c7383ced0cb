import './strict.ts'
import type { Bridge } from '../../shared/api/bridge.ts'
import { BRIDGE_NAME, bridgeChannel } from '../../shared/api/bridge.ts'
import type { Channel, Client } from '../../shared/api/client.ts'
import { makeClient } from '../../shared/api/client.ts'
import type { AppContract } from '../../shared/api/contract.ts'
import { contract } from '../../shared/api/contract.ts'
import type { ChannelStatus, SocketLike } from './socket-channel.ts'
import { socketChannel } from './socket-channel.ts'
import { takeToken } from './token.ts'

export type AppClient = Client<AppContract>
export type StatusListener = (status: ChannelStatus) => void

/**
 * The page's one way to the machine: over the desktop shell's bridge where there is one, else over the host's
 * socket. `onStatus` hears of every change of the connection; over the bridge it is live from the start.
 */
export function connectClient(onStatus: StatusListener = () => {}): AppClient {
  const bridge = (globalThis as { [BRIDGE_NAME]?: Bridge })[BRIDGE_NAME]
  if (bridge === undefined) return makeClient(contract, openSocketChannel(onStatus))
  onStatus('live')
  return makeClient(contract, bridgeChannel(bridge))
}

function openSocketChannel(onStatus: StatusListener): Channel {
  const token = takeToken(location, sessionStorage, url => history.replaceState(null, '', url))
  return socketChannel({
    open: () => {
      const protocols = ['preflash', ...(token === '' ? [] : [`preflash.token.${token}`])]
      return new WebSocket(`ws://${location.host}/socket`, protocols) as SocketLike
    },
    wait: (delayMs, then) => void setTimeout(then, delayMs),
    onStatus,
  })
}
