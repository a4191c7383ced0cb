import { readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import fc from 'fast-check'
import { describe, expect, it, onTestFinished } from 'vitest'
import { PortsFile } from '../../main/serial/ports-file.ts'
import { testFolder } from '../support/folder.ts'

function folder() {
  const made = testFolder('ports-file')
  onTestFinished(() => made.remove())
  return { path: made.path, file: join(made.path, 'ports.json') }
}
const sound = JSON.stringify({ version: 1, names: [{ key: 'usb:1', name: 'Left' }], typed: ['a:1'] })

describe('the file of ports', () => {
  it('may hold anything: it is read, or said to be damaged, and kept aside by the next change', async () => {
    const { path, file } = folder()
    const damage = fc.oneof(
      fc.uint8Array({ maxLength: 200 }).map(octets => Buffer.from(octets)),
      fc.json({ maxDepth: 3 }).map(text => Buffer.from(text)),
      fc
        .tuple(fc.nat(sound.length), fc.nat(8), fc.string({ maxLength: 6 }))
        .map(([at, out, put]) => Buffer.from(sound.slice(0, at) + put + sound.slice(at + out))),
    )
    await fc.assert(
      fc.asyncProperty(damage, async octets => {
        writeFileSync(file, octets)
        const ports = new PortsFile(path)
        const { kept, problem } = await ports.get()
        if (problem !== undefined) {
          expect(kept).toEqual({ names: [], typed: [] })
          expect(problem).toMatchObject({ code: 'ports.damaged', file })
        }
        await ports.change(now => ({ ...now, typed: ['b:2'] }))
        expect(await new PortsFile(path).get()).toEqual({ kept: { ...kept, typed: ['b:2'] } })
        if (problem !== undefined) expect(readFileSync(`${file}.damaged`)).toEqual(octets)
      }),
      { numRuns: 100 },
    )
  }, 30_000)
})
