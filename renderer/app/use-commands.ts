import { useEffect, useRef } from 'react'
import type { MenuCommand } from '../../shared/api/contract.ts'
import type { AppClient } from '../api/client.ts'

const KEYS: Readonly<Record<string, MenuCommand>> = {
  z: 'undo',
  'shift+z': 'redo',
  y: 'redo',
  s: 'save',
  'shift+s': 'save-as',
  o: 'open',
}

/** In a text field undo and redo belong to the field. */
function inTextField(target: EventTarget | null): boolean {
  if (!(target instanceof HTMLElement)) return false
  if (target instanceof HTMLInputElement)
    return !['checkbox', 'radio', 'range', 'button', 'file'].includes(target.type)
  return target instanceof HTMLTextAreaElement || target.isContentEditable
}

/** Keys and the desktop shell's menu end in the same commands. */
export function useCommands(client: AppClient, run: (command: MenuCommand) => void): void {
  const latest = useRef(run)
  latest.current = run
  useEffect(() => {
    const stop = client.on('menu.chosen', ({ command }) => {
      if (document.querySelector('dialog:modal') === null) latest.current(command)
    })
    const onKey = (event: KeyboardEvent) => {
      if (!(event.ctrlKey || event.metaKey) || event.altKey) return
      const command = KEYS[`${event.shiftKey ? 'shift+' : ''}${event.key.toLowerCase()}`]
      if (command === undefined) return
      if ((command === 'undo' || command === 'redo') && inTextField(event.target)) return
      event.preventDefault()
      // What lies under an open dialog must not change unseen.
      if (document.querySelector('dialog:modal') === null) latest.current(command)
    }
    window.addEventListener('keydown', onKey)
    return () => {
      stop()
      window.removeEventListener('keydown', onKey)
    }
  }, [client])
}
