import type { BrowserWindowConstructorOptions } from 'electron'
import type { WindowPlace } from './place.ts'

/** Room for the seven views at the left, the drawing in the middle and the explanations at the right. */
export const SMALLEST = { width: 960, height: 640 } as const

/** How every window of the workbench is made. The page gets no Node, no raw bridge, and runs in the sandbox. */
export function windowOptions(preload: string, place: WindowPlace): BrowserWindowConstructorOptions {
  const { maximized: _, ...bounds } = place
  return {
    ...bounds,
    minWidth: SMALLEST.width,
    minHeight: SMALLEST.height,
    title: 'Preflash',
    show: false,
    webPreferences: {
      preload,
      contextIsolation: true,
      sandbox: true,
      nodeIntegration: false,
      nodeIntegrationInWorker: false,
      nodeIntegrationInSubFrames: false,
      webSecurity: true,
      allowRunningInsecureContent: false,
      experimentalFeatures: false,
      webviewTag: false,
      navigateOnDragDrop: false,
      spellcheck: false,
    },
  }
}
