import { spawn, spawnSync } from 'node:child_process'
import { once } from 'node:events'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { WebSocket } from 'ws'
import { projectRoot } from '../../main/scripts/build.mjs'
import type { TestFolder } from '../support/folder.ts'
import { testFolder } from '../support/folder.ts'

const script = join(projectRoot, 'main', 'scripts', 'start.mjs')

describe('npm start', () => {
  let folder: TestFolder
  beforeEach(() => {
    folder = testFolder('start')
  })
  afterEach(() => folder.remove())

  function start(...args: string[]) {
    const env = { ...process.env, DISPLAY: '', WAYLAND_DISPLAY: '', PREFLASH_DATA: folder.path }
    const child = spawn(process.execPath, [script, ...args], { env, stdio: ['ignore', 'pipe', 'pipe'] })
    let output = ''
    const url = new Promise<string>((resolve, reject) => {
      const read = (chunk: Buffer) => {
        output += chunk.toString('utf8')
        const found = /http:\S+#token=\S+/.exec(output)?.[0]
        if (found !== undefined) resolve(found)
      }
      child.stdout.on('data', read)
      child.stderr.on('data', read)
      child.once('exit', code => reject(new Error(`ended with ${code}: ${output}`)))
    })
    return { child, url, output: () => output }
  }

  it('serves the page where no window can be shown, and stops when asked', async () => {
    const started = start('--no-open')
    const page = await fetch(await started.url)
    expect(page.status).toBe(200)
    expect(await page.text()).toContain('<title>Preflash')
    started.child.kill('SIGTERM')
    expect(await once(started.child, 'exit')).toEqual([0, null])
  })

  it.skipIf(process.platform !== 'linux')('says in one line why there is no window', async () => {
    const started = start()
    await started.url
    expect(started.output()).toContain('No desktop window, because this machine has no display')
    started.child.kill('SIGINT')
    expect(await once(started.child, 'exit')).toEqual([0, null])
  })

  it('takes a Ctrl-C that npm repeats for one, and closes its pages properly', async () => {
    const started = start('--no-open')
    const { host, hash } = new URL(await started.url)
    const protocols = ['preflash', `preflash.token.${hash.slice('#token='.length)}`]
    const page = new WebSocket(`ws://${host}/socket`, protocols, { headers: { Origin: `http://${host}` } })
    await once(page, 'open')
    const closed = once(page, 'close')
    started.child.kill('SIGINT')
    started.child.kill('SIGINT')
    expect((await closed)[0]).toBe(1001)
    expect(await once(started.child, 'exit')).toEqual([0, null])
  })

  it('says which argument it does not understand', () => {
    const run = spawnSync(process.execPath, [script, '--browser', '--port', 'x'], { encoding: 'utf8' })
    expect(run.status).toBe(2)
    expect(run.stderr).toContain("--port: 'x' is not a port.")
  })
})
