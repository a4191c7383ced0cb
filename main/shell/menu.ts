import type { MenuItemConstructorOptions } from 'electron'
import type { MenuCommand } from '../../shared/api/contract.ts'

/**
 * The menu bar. The page listens for the same keys itself, as it must in a browser, and knows when a text field has
 * the first right to them; so the menu shows these accelerators but leaves the keys alone.
 */
export function menuTemplate(
  choose: (command: MenuCommand) => void,
  platform: NodeJS.Platform,
): MenuItemConstructorOptions[] {
  const item = (label: string, command: MenuCommand, accelerator: string): MenuItemConstructorOptions => ({
    label,
    accelerator,
    registerAccelerator: false,
    click: () => choose(command),
  })
  const again = platform === 'win32' ? 'Ctrl+Y' : 'CmdOrCtrl+Shift+Z'
  return [
    {
      label: '&Bench',
      submenu: [
        item('New bench', 'new', 'CmdOrCtrl+Shift+N'),
        item('Open bench file…', 'open', 'CmdOrCtrl+O'),
        { type: 'separator' },
        item('Save bench', 'save', 'CmdOrCtrl+S'),
        item('Save bench as…', 'save-as', 'CmdOrCtrl+Shift+S'),
        { type: 'separator' },
        { label: 'Quit Preflash', role: 'quit', accelerator: 'CmdOrCtrl+Q' },
      ],
    },
    {
      label: '&Edit',
      submenu: [
        item('Undo last change', 'undo', 'CmdOrCtrl+Z'),
        item('Redo last change', 'redo', again),
        { type: 'separator' },
        { label: 'Cut text', role: 'cut' },
        { label: 'Copy text', role: 'copy' },
        { label: 'Paste text', role: 'paste' },
        { label: 'Select everything', role: 'selectAll' },
      ],
    },
    {
      label: '&Window',
      submenu: [
        { label: 'Larger', role: 'zoomIn', accelerator: 'CmdOrCtrl+=' },
        { label: 'Smaller', role: 'zoomOut', accelerator: 'CmdOrCtrl+-' },
        { label: 'Normal size', role: 'resetZoom', accelerator: 'CmdOrCtrl+0' },
        { type: 'separator' },
        { label: 'Full screen', role: 'togglefullscreen' },
      ],
    },
  ]
}
