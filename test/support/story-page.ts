import { readFile } from 'node:fs/promises'
import { createServer } from 'node:http'
import type { AddressInfo } from 'node:net'
import { extname, join, normalize } from 'node:path'
import react from '@vitejs/plugin-react'
import { build } from 'vite'
import { testFolder } from './folder.ts'

export interface StoryPage {
  readonly url: string
  close(): Promise<void>
}

const kinds: Readonly<Record<string, string>> = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript',
  '.css': 'text/css',
  '.woff2': 'font/woff2',
  '.woff': 'font/woff',
}

/** Builds one page of `test/support/` that shows a piece of the window by itself, and serves it on 127.0.0.1. */
export async function openStoryPage(root: string): Promise<StoryPage> {
  const folder = testFolder('story')
  await build({
    configFile: false,
    root,
    base: './',
    logLevel: 'error',
    plugins: [react()],
    build: { outDir: folder.path, emptyOutDir: true, assetsInlineLimit: 0 },
  })
  const server = createServer(async (request, answer) => {
    const path = new URL(request.url ?? '/', 'http://127.0.0.1').pathname
    const file = normalize(join(folder.path, path === '/' ? 'index.html' : path))
    try {
      if (!file.startsWith(folder.path)) throw new Error('outside')
      const content = await readFile(file)
      answer
        .writeHead(200, { 'content-type': kinds[extname(file)] ?? 'application/octet-stream' })
        .end(content)
    } catch {
      answer.writeHead(404).end()
    }
  })
  await new Promise<void>(resolve => server.listen(0, '127.0.0.1', resolve))
  return {
    url: `http://127.0.0.1:${(server.address() as AddressInfo).port}/`,
    async close() {
      server.closeAllConnections()
      await new Promise(resolve => server.close(resolve))
      folder.remove()
    },
  }
}
