import type { Contract, Outcome } from '../../shared/api/define.ts'
import type { EventListener, Serve } from '../../shared/api/serve.ts'
import { callChannel, eventChannel } from './channels.ts'
import type { FrameLike } from './guards.ts'
import { isTrustedSender } from './guards.ts'

/** The part of Electron's ipcMain that the registration uses. */
export interface IpcMainLike {
  handle(
    channel: string,
    listener: (event: { senderFrame: FrameLike | null }, request: unknown) => unknown,
  ): void
}

/** The part of Electron's WebContents that events are sent through. */
export interface ReceiverLike {
  isDestroyed(): boolean
  getURL(): string
  send(channel: string, data: unknown): void
}

const UNTRUSTED: Outcome = {
  ok: false,
  problems: [{ code: 'shell.sender', message: 'This page may not use the workbench.' }],
}

/** Answers each method of the contract on a channel of its own, and only to a trusted sender. */
export function registerIpc(ipc: IpcMainLike, contract: Contract, serve: Serve): void {
  for (const method of Object.keys(contract.methods)) {
    ipc.handle(callChannel(method), (event, request) =>
      isTrustedSender(event.senderFrame) ? serve(method, request) : UNTRUSTED,
    )
  }
}

/** Passes the contract's events on to the windows that show a page of ours. */
export function forwardEvents(
  listen: (listener: EventListener) => () => void,
  receivers: () => readonly ReceiverLike[],
): () => void {
  return listen((event, data) => {
    for (const receiver of receivers()) {
      if (receiver.isDestroyed() || !isTrustedSender({ url: receiver.getURL(), parent: null })) continue
      receiver.send(eventChannel(event), data)
    }
  })
}
