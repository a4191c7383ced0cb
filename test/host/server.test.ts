import { mkdirSync, writeFileSync } from 'node:fs'
import { createServer, request as httpRequest } from 'node:http'
import { connect } from 'node:net'
import { networkInterfaces } from 'node:os'
import { join } from 'node:path'
import fc from 'fast-check'
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest'
import { WebSocket } from 'ws'
import type { HostOptions, RunningHost } from '../../main/host/server.ts'
import { startHost } from '../../main/host/server.ts'
import type { Envelope } from '../../shared/api/envelope.ts'
import { decodeEnvelope, encodeEnvelope } from '../../shared/api/envelope.ts'
import { makeEvents, serveContract } from '../../shared/api/serve.ts'
import { notes } from '../api/notes.ts'
import type { TestFolder } from '../support/folder.ts'
import { testFolder } from '../support/folder.ts'

let folder: TestFolder
let running: RunningHost[] = []
const events = makeEvents(notes)

beforeAll(() => {
  folder = testFolder('pages')
  mkdirSync(join(folder.path, 'pages', 'assets'), { recursive: true })
  writeFileSync(join(folder.path, 'pages', 'index.html'), 'the page')
  writeFileSync(join(folder.path, 'pages', 'assets', 'a.js'), 'code')
  writeFileSync(join(folder.path, 'secret.txt'), 'secret')
})
afterEach(async () => {
  await Promise.all(running.map(host => host.stop()))
  running = []
})
afterAll(() => folder.remove())

async function host(options: Partial<HostOptions> = {}): Promise<RunningHost> {
  const serve = serveContract(notes, {
    'notes.add': ({ text }) => ({ id: text.length }),
    'notes.flip': ({ bytes }) => ({ bytes: bytes.map(octet => octet ^ 0xff) }),
  })
  const started = await startHost({
    root: join(folder.path, 'pages'),
    port: 0,
    serve,
    listen: events.listen,
    ...options,
  })
  running.push(started)
  return started
}

interface Answer {
  readonly status: number
  readonly headers: Record<string, string | string[] | undefined>
  readonly body: string
}

/** A request with the path exactly as given; a browser's fetch would tidy it up first. */
function get(
  port: number,
  path: string,
  headers: Record<string, string> = {},
  method = 'GET',
): Promise<Answer> {
  return new Promise((resolve, reject) => {
    const request = httpRequest(
      { host: '127.0.0.1', port, path, headers, method, agent: false },
      response => {
        let body = ''
        response.on('data', chunk => {
          body += chunk
        })
        response.on('end', () =>
          resolve({ status: response.statusCode ?? 0, headers: response.headers, body }),
        )
      },
    )
    request.on('error', reject)
    request.end()
  })
}

interface Ending {
  /** Status of a refused upgrade, else the code the socket was closed with. */
  readonly code: number
  readonly received: readonly Envelope[]
}
interface Visit {
  readonly token?: string
  readonly origin?: string | null
  readonly host?: string
  readonly path?: string
}

function openSocket({ port, token: own }: RunningHost, visit: Visit = {}) {
  const token = visit.token ?? own
  const protocols = token === '' ? ['preflash'] : ['preflash', `preflash.token.${token}`]
  const origin = visit.origin === undefined ? `http://127.0.0.1:${port}` : visit.origin
  const socket = new WebSocket(`ws://127.0.0.1:${port}${visit.path ?? '/socket'}`, protocols, {
    headers: { ...(origin === null ? {} : { Origin: origin }), ...(visit.host ? { Host: visit.host } : {}) },
  })
  const received: Envelope[] = []
  socket.on('message', (data: Buffer) => received.push(decodeEnvelope(data)))
  socket.on('error', () => {})
  const open = new Promise<void>(resolve => socket.once('open', () => resolve()))
  const ending = new Promise<Ending>(resolve => {
    socket.once('unexpected-response', (_request, response) =>
      resolve({ code: response.statusCode ?? 0, received }),
    )
    socket.once('close', code => resolve({ code, received }))
  })
  const reply = () =>
    new Promise<Envelope>(resolve => socket.once('message', data => resolve(decodeEnvelope(data as Buffer))))
  return { socket, received, open, ending, reply }
}

describe('the host listens', () => {
  it('on 127.0.0.1 and on no other address of the machine', async () => {
    const { server, port } = await host()
    expect(server.address()).toMatchObject({ address: '127.0.0.1', family: 'IPv4' })
    const others = Object.values(networkInterfaces())
      .flatMap(list => list ?? [])
      .map(({ address }) => address)
      .filter(address => address !== '127.0.0.1')
    for (const address of others) {
      const reached = await new Promise<boolean>(resolve => {
        const socket = connect({ host: address, port, timeout: 1_000 }, () => resolve(true))
        socket.on('error', () => resolve(false)).on('timeout', () => resolve(false))
      })
      expect(reached, address).toBe(false)
    }
  })

  it('or says that the port is taken and what to do', async () => {
    const other = createServer()
    await new Promise<void>(resolve => other.listen(0, '127.0.0.1', resolve))
    const { port } = other.address() as { port: number }
    await expect(host({ port })).rejects.toMatchObject({
      problem: { code: 'host.port', message: expect.stringContaining(`${port}`) },
    })
    other.close()
  })

  it('until it is stopped, and then lets go of sockets and port', async () => {
    const started = await host()
    const page = openSocket(started)
    await page.open
    await started.stop()
    expect((await page.ending).code).toBe(1001)
    await expect(get(started.port, '/')).rejects.toThrow('ECONNREFUSED')
  })

  it('names its address with the token in the fragment, which stays in the browser', async () => {
    const { url, token, port } = await host()
    expect(url).toBe(`http://127.0.0.1:${port}/#token=${token}`)
  })
})

describe('pages', () => {
  it('are served with the policy that binds them', async () => {
    const { port } = await host()
    const { status, headers, body } = await get(port, '/')
    expect({ status, body }).toEqual({ status: 200, body: 'the page' })
    expect(headers['content-security-policy']).toContain("default-src 'none'")
    expect(headers['content-security-policy']).toContain(`connect-src 'self' ws://127.0.0.1:${port}`)
    expect(headers['x-content-type-options']).toBe('nosniff')
    expect(headers['access-control-allow-origin']).toBeUndefined()
    expect(headers['cache-control']).toBe('no-store')
  })

  it('never contain the token', async () => {
    const { port, token } = await host()
    for (const path of ['/', '/assets/a.js', '/missing', `/?token=${token}`]) {
      const { body, headers } = await get(port, path)
      expect(body + JSON.stringify(headers)).not.toContain(token)
    }
  })

  it.each([
    '/../secret.txt',
    '/%2e%2e/secret.txt',
    '/assets/..%2f..%2fsecret.txt',
    '/..%5csecret.txt',
    '/missing.js',
  ])('are not found at %s', async path => {
    const { port } = await host()
    const { status, body, headers } = await get(port, path)
    expect(status).toBe(404)
    expect(body).not.toContain('secret')
    expect(headers['content-security-policy']).toContain("default-src 'none'")
  })

  it('are for GET and HEAD', async () => {
    const { port } = await host()
    expect(await get(port, '/', {}, 'HEAD')).toMatchObject({ status: 200, body: '' })
    for (const method of ['POST', 'PUT', 'DELETE', 'OPTIONS']) {
      expect((await get(port, '/', {}, method)).status, method).toBe(405)
    }
  })

  it('are refused under a name that is not ours, as after DNS rebinding', async () => {
    const { port } = await host()
    for (const name of ['evil.example', `evil.example:${port}`, '127.0.0.1', '127.0.0.1:1']) {
      const { status, body } = await get(port, '/', { Host: name })
      expect({ status, body }, name).toEqual({ status: 421, body: 'This address is not served here.\n' })
    }
    expect((await get(port, '/', { Host: `localhost:${port}` })).status).toBe(200)
  })

  it('are refused to the scripts of other pages', async () => {
    const { port } = await host()
    expect((await get(port, '/', { Origin: 'http://evil.example' })).status).toBe(403)
    expect((await get(port, '/', { Origin: `http://127.0.0.1:${port}` })).status).toBe(200)
  })
})

describe('the socket', () => {
  it('answers calls of a page that showed the token', async () => {
    const page = openSocket(await host())
    await page.open
    page.socket.send(
      encodeEnvelope({ id: 5, method: 'notes.flip', request: { bytes: new Uint8Array([1, 2]) } }),
    )
    expect(await page.reply()).toEqual({ id: 5, ok: true, reply: { bytes: new Uint8Array([0xfe, 0xfd]) } })
  })

  it('answers several calls at once, each when it is done', async () => {
    const late: (() => void)[] = []
    const serve = async (method: string) => {
      if (method === 'late.one') await new Promise<void>(resolve => late.push(resolve))
      return { ok: true, reply: method } as const
    }
    const page = openSocket(await host({ serve }))
    await page.open
    page.socket.send(encodeEnvelope({ id: 1, method: 'late.one', request: null }))
    page.socket.send(encodeEnvelope({ id: 2, method: 'soon.one', request: null }))
    expect(await page.reply()).toMatchObject({ id: 2 })
    late[0]()
    expect(await page.reply()).toMatchObject({ id: 1 })
  })

  it.each([
    ['a wrong token', { token: 'A'.repeat(43) }],
    ['no token', { token: '' }],
  ])('is closed on %s, and nothing said on it is heard or answered', async (_what, visit) => {
    let served = 0
    const serve = async () => {
      served += 1
      return { ok: true, reply: null } as const
    }
    const page = openSocket(await host({ serve }), visit)
    await page.open
    page.socket.send(encodeEnvelope({ id: 1, method: 'notes.add', request: { text: 'x' } }))
    expect(await page.ending).toEqual({ code: 4401, received: [] })
    expect(served).toBe(0)
  })

  it('sends events to pages that showed the token, and to no others', async () => {
    const started = await host()
    const [friend, stranger] = [openSocket(started), openSocket(started, { token: '' })]
    await Promise.all([friend.open, stranger.open])
    events.emit('notes.added', { id: 1 })
    expect(await friend.reply()).toEqual({ event: 'notes.added', data: { id: 1 } })
    expect(await stranger.ending).toEqual({ code: 4401, received: [] })
  })

  it('is refused to pages of another origin, even with the token', async () => {
    const started = await host()
    for (const origin of ['http://evil.example', 'null', `https://127.0.0.1:${started.port}`, null]) {
      expect((await openSocket(started, { origin }).ending).code, String(origin)).toBe(403)
    }
  })

  it('is refused under a name that is not ours, even with the token', async () => {
    const started = await host()
    expect((await openSocket(started, { host: `evil.example:${started.port}` }).ending).code).toBe(421)
  })

  it('is nowhere but at its own path', async () => {
    expect((await openSocket(await host(), { path: '/' }).ending).code).toBe(404)
  })

  it('is not opened without end', async () => {
    const started = await host({ limits: { sockets: 2 } })
    const pages = [openSocket(started), openSocket(started)]
    await Promise.all(pages.map(page => page.open))
    expect((await openSocket(started).ending).code).toBe(503)
  })

  it('is closed on a message over the limit (RFC 6455, code 1009)', async () => {
    const page = openSocket(await host({ limits: { messageBytes: 1_000 } }))
    await page.open
    page.socket.send(encodeEnvelope({ id: 1, method: 'a.b', request: new Uint8Array(2_000) }))
    expect((await page.ending).code).toBe(1009)
  })

  it('is closed when too many calls are under way', async () => {
    const serve = () => new Promise<never>(() => {})
    const page = openSocket(await host({ serve, limits: { callsAtOnce: 3 } }))
    await page.open
    for (let id = 0; id < 4; id += 1) page.socket.send(encodeEnvelope({ id, method: 'a.b', request: null }))
    expect((await page.ending).code).toBe(4429)
  })

  it.each([
    ['text', '{"id":1,"method":"notes.add","request":{"text":"x"}}'],
    ['no octets', Buffer.alloc(0)],
    ['a reply', Buffer.from(encodeEnvelope({ id: 1, ok: true, reply: 1 }))],
    ['an event', Buffer.from(encodeEnvelope({ event: 'notes.added', data: { id: 1 } }))],
  ])('is closed on %s instead of a call', async (_what, data) => {
    const page = openSocket(await host())
    await page.open
    page.socket.send(data)
    expect((await page.ending).code).toBe(4400)
  })

  it('is closed on any octets that are no envelope, and the host lives on', async () => {
    const started = await host()
    const garbage = fc.uint8Array({ minLength: 1, maxLength: 300 }).filter(octets => octets[0] !== 1)
    await fc.assert(
      fc.asyncProperty(garbage, async octets => {
        const page = openSocket(started)
        await page.open
        page.socket.send(octets)
        expect((await page.ending).code).toBe(4400)
      }),
      { numRuns: 40 },
    )
    expect((await get(started.port, '/')).status).toBe(200)
  })

  it('tells the caller when the answer is too long to send', async () => {
    const serve = async () => ({ ok: true, reply: new Map() }) as const
    const page = openSocket(await host({ serve }))
    await page.open
    page.socket.send(encodeEnvelope({ id: 1, method: 'a.b', request: null }))
    expect(await page.reply()).toMatchObject({ id: 1, ok: false, problems: [{ code: 'envelope.value' }] })
  })
})
