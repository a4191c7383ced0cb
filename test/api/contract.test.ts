import { describe, expect, it } from 'vitest'
import { createHandlers } from '../../main/handlers/index.ts'
import manifest from '../../package.json' with { type: 'json' }
import { contract } from '../../shared/api/contract.ts'
import { makeEvents, serveContract } from '../../shared/api/serve.ts'

describe('the contract of the workbench', () => {
  const env = { hostKind: 'browser', dataFolder: '/somewhere', events: makeEvents(contract) } as const

  it('has a handler for every method and none besides', () => {
    expect(Object.keys(createHandlers(env)).sort()).toEqual(Object.keys(contract.methods).sort())
  })

  it('says where it runs', async () => {
    const outcome = await serveContract(contract, createHandlers(env))('app.info', {})
    expect(outcome).toEqual({
      ok: true,
      reply: {
        version: manifest.version,
        hostKind: 'browser',
        platform: process.platform,
        dataFolder: '/somewhere',
      },
    })
  })
})
