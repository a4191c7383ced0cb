import { type ChildProcess, spawn } from 'node:child_process'
import { writeFileSync } from 'node:fs'
import { createServer } from 'node:net'
import { join } from 'node:path'
import { testFolder } from './folder.ts'
import { needs } from './needs.ts'

/** Debian's ser2net lends a port of this machine by RFC 2217, on a port number of 127.0.0.1. */
export interface LentPort {
  readonly port: number
  readonly server: ChildProcess
  end(): void
}

/** Longer than any test may take: a server that a killed test left behind ends by itself. */
const LIFE_SECONDS = 120

/** A port number of this machine that nobody uses just now. */
export const freePort = (): Promise<number> =>
  new Promise(resolve => {
    const server = createServer().listen(0, '127.0.0.1', () => {
      const address = server.address()
      server.close(() => resolve(typeof address === 'object' && address ? address.port : 0))
    })
  })

/** It takes a moment until it listens. @param path of the serial port; @param wanted the number of the port to lend it on */
export async function lendPort(path: string, wanted?: number): Promise<LentPort> {
  const folder = testFolder('ser2net')
  const port = wanted ?? (await freePort())
  const config = join(folder.path, 'ser2net.yaml')
  writeFileSync(
    config,
    `connection: &lent\n  accepter: telnet(rfc2217),tcp,127.0.0.1,${port}\n  connector: serialdev,${path},115200n81,local\n`,
  )
  const program = needs('ser2net') ?? 'ser2net'
  const args = ['-k', '1', String(LIFE_SECONDS), program, '-n', '-d', '-c', config]
  const server = spawn('timeout', args, { stdio: 'ignore' })
  const end = () => {
    server.kill()
    folder.remove()
  }
  return { port, server, end }
}
