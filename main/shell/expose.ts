import type { Bridge } from '../../shared/api/bridge.ts'
import type { Contract, Outcome } from '../../shared/api/define.ts'
import { callChannel, eventChannel } from './channels.ts'

/** The part of Electron's ipcRenderer that the bridge uses. */
export interface IpcRendererLike {
  invoke(channel: string, request: unknown): Promise<unknown>
  on(channel: string, listener: (event: unknown, data: unknown) => void): unknown
  removeListener(channel: string, listener: (event: unknown, data: unknown) => void): unknown
}

/**
 * What the page gets: one function a method and one a event, each bound to its own channel. The page cannot name a
 * channel, nor see Electron's event object, through which it would reach the sender.
 */
export function makeBridge(contract: Contract, ipc: IpcRendererLike): Bridge {
  const calls = Object.keys(contract.methods).map(method => [
    method,
    (request: unknown) => ipc.invoke(callChannel(method), request) as Promise<Outcome>,
  ])
  const events = Object.keys(contract.events).map(event => [
    event,
    (listener: (data: unknown) => void) => {
      const pass = (_event: unknown, data: unknown) => listener(data)
      ipc.on(eventChannel(event), pass)
      return () => void ipc.removeListener(eventChannel(event), pass)
    },
  ])
  return { calls: Object.fromEntries(calls), events: Object.fromEntries(events) }
}
