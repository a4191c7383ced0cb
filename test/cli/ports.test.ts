import { afterEach, beforeEach, expect, it } from 'vitest'
import { portSchema } from '../../shared/api/ports.ts'
import { preflash } from '../support/cli.ts'
import { testFolder } from '../support/folder.ts'

let folder: ReturnType<typeof testFolder>
beforeEach(() => {
  folder = testFolder('cli-ports')
})
afterEach(() => folder.remove())

it('ports are added, named and listed, and what is wrong is named', async () => {
  const cli = (...args: string[]) => preflash('ports', '--data', folder.path, ...args)
  expect((await cli('--add', '127.0.0.1:4000')).code).toBe(0)
  const named = await cli('--name', '127.0.0.1:4000', 'Shelf server', '--json')
  expect(named.code).toBe(0)
  const { ports } = JSON.parse(named.out)
  expect(ports.map((p: unknown) => portSchema.parse(p)).find((p: { name?: string }) => p.name)).toMatchObject(
    {
      place: '127.0.0.1:4000',
      name: 'Shelf server',
    },
  )
  const text = await cli()
  expect(text.out).toContain('Shelf server: 127.0.0.1:4000')
  expect(text.out).toContain('The name stays with this address.')
  const wrong = await cli('--add', 'nonsense')
  expect(wrong.code).toBe(2)
  expect(wrong.err).toContain('a serial server: its name, a colon, its port number')
  expect((await cli('a name')).code).toBe(2)
}, 60_000)
