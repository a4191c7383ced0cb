import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { runInNewContext } from 'node:vm'
import { build } from 'vite'
import { beforeAll, describe, expect, it, vi } from 'vitest'
import { projectRoot } from '../../main/scripts/build.mjs'
import type { Bridge } from '../../shared/api/bridge.ts'
import { contract } from '../../shared/api/contract.ts'
import type { TestFolder } from '../support/folder.ts'
import { testFolder } from '../support/folder.ts'

/** The preload as a sandboxed window gets it: one CommonJS text in which nothing but electron can be required. */
async function buildPreload(): Promise<string> {
  const folder: TestFolder = testFolder('preload')
  try {
    await build({
      configFile: false,
      root: projectRoot,
      logLevel: 'error',
      build: {
        outDir: folder.path,
        lib: { entry: 'main/shell/preload.ts', formats: ['cjs'], fileName: () => 'preload.cjs' },
        rollupOptions: { external: ['electron'] },
      },
    })
    return readFileSync(join(folder.path, 'preload.cjs'), 'utf8')
  } finally {
    folder.remove()
  }
}

function runPreload(code: string) {
  const exposed: Record<string, unknown> = {}
  const ipcRenderer = {
    invoke: vi.fn(async () => ({ ok: true, reply: 1 })),
    on: vi.fn(),
    removeListener: vi.fn(),
  }
  const required: string[] = []
  const require = (name: string) => {
    required.push(name)
    if (name !== 'electron') throw new Error(`a sandboxed preload has no ${name}`)
    const exposeInMainWorld = (key: string, value: unknown) => {
      exposed[key] = value
    }
    return { contextBridge: { exposeInMainWorld }, ipcRenderer }
  }
  const module = { exports: {} }
  runInNewContext(code, { require, module, exports: module.exports, TextEncoder, TextDecoder, URL, console })
  return { exposed, ipcRenderer, required }
}

describe('the preload', () => {
  let code: string
  beforeAll(async () => {
    code = await buildPreload()
  }, 60_000)

  it('needs nothing but what the sandbox has', () => {
    expect(new Set(runPreload(code).required)).toEqual(new Set(['electron']))
  })

  it('exposes one name, with the methods and events of the contract and nothing more', () => {
    const { exposed } = runPreload(code)
    expect(Object.keys(exposed)).toEqual(['preflash'])
    const bridge = exposed.preflash as Bridge
    expect(Object.keys(bridge).sort()).toEqual(['calls', 'events'])
    expect(Object.keys(bridge.calls).sort()).toEqual(Object.keys(contract.methods).sort())
    expect(Object.keys(bridge.events).sort()).toEqual(Object.keys(contract.events).sort())
  })

  it('binds each method to its own channel and passes on one argument', async () => {
    const { exposed, ipcRenderer } = runPreload(code)
    const { calls } = exposed.preflash as Bridge
    const info = calls['app.info'] as (...args: unknown[]) => Promise<unknown>
    expect(await info({ a: 1 }, 'another:channel')).toEqual({ ok: true, reply: 1 })
    expect(ipcRenderer.invoke.mock.calls).toEqual([['preflash:call:app.info', { a: 1 }]])
  })

  it("passes events on without Electron's event object, and stops", () => {
    const { exposed, ipcRenderer } = runPreload(code)
    const { events } = exposed.preflash as Bridge
    const heard = vi.fn()
    const stop = events['menu.chosen'](heard)
    const [channel, pass] = ipcRenderer.on.mock.calls[0]
    pass({ sender: 'reaches everything' }, { command: 'undo' })
    expect(channel).toBe('preflash:event:menu.chosen')
    expect(heard.mock.calls).toEqual([[{ command: 'undo' }]])
    expect(stop()).toBeUndefined()
    expect(ipcRenderer.removeListener).toHaveBeenCalledWith(channel, pass)
  })
})
