import { afterEach, beforeEach, expect, it } from 'vitest'
import { createHandlers } from '../../main/handlers/index.ts'
import { FREE } from '../../main/serial/access.ts'
import { contract } from '../../shared/api/contract.ts'
import { portsMethods } from '../../shared/api/ports.ts'
import { makeEvents, type Serve, serveContract } from '../../shared/api/serve.ts'
import { testFolder } from '../support/folder.ts'

let folder: ReturnType<typeof testFolder>
let serve: Serve
let told: string[]
beforeEach(() => {
  folder = testFolder('handlers')
  told = []
  const events = makeEvents(contract)
  events.listen(event => told.push(event))
  const ports = {
    systemPorts: async () => [{ path: '/dev/ttyS0', usb: undefined }],
    accessTo: async () => FREE,
    latencyOf: async () => ({ ms: 1, from: 'the test' }),
  }
  const env = { hostKind: 'browser', dataFolder: folder.path, events, ports } as const
  serve = serveContract(contract, createHandlers(env), error => expect.fail(String(error)))
})
afterEach(() => folder.remove())

it('ports are listed, named, added and removed over the contract, and every window is told', async () => {
  const places = async (method: keyof typeof portsMethods, request: object) => {
    const outcome = await serve(method, request)
    if (!outcome.ok) return outcome.problems.map(p => p.code)
    return portsMethods[method].reply.parse(outcome.reply).ports.map(p => p.name ?? p.place)
  }
  expect(await places('ports.list', {})).toEqual(['/dev/ttyS0'])
  expect(told).toEqual([])
  expect(await places('ports.add', { typed: 'localhost:4000' })).toEqual(['localhost:4000', '/dev/ttyS0'])
  expect(await places('ports.name', { place: 'localhost:4000', name: 'Shelf' })).toEqual([
    'Shelf',
    '/dev/ttyS0',
  ])
  expect(await places('ports.remove', { place: 'localhost:4000' })).toEqual(['/dev/ttyS0'])
  expect(told).toEqual(['ports.changed', 'ports.changed', 'ports.changed'])
  expect(await places('ports.add', { typed: '?' })).toEqual(['port.place'])
  expect(await places('ports.name', { place: '/dev/nothing', name: 'x' })).toEqual(['port.unknown'])
})
