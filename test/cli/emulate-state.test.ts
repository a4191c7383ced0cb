import { execFileSync } from 'node:child_process'
import { existsSync, mkdirSync, readdirSync, readFileSync, symlinkSync, writeFileSync } from 'node:fs'
import * as fs from 'node:fs/promises'
import { join } from 'node:path'
import { describe, expect, it, onTestFinished } from 'vitest'
import { keptState, lastSave, roomForState, statePlace } from '../../main/cli/emulate-state.ts'
import { Keeper } from '../../main/serial/kept-receiver.ts'
import type { ReceiverType } from '../../shared/model/catalogue.ts'
import { blankMemory } from '../../shared/sim/memory.ts'
import { mostStateCharacters, writeReceiverState } from '../../shared/sim/receiver-state.ts'
import { badInputWords } from '../support/bad-input.ts'
import { preflash } from '../support/cli.ts'
import { testFolder } from '../support/folder.ts'
import { smallBench } from '../support/small-bench.ts'

const wren = smallBench().catalogue.receiverTypes.find(t => t.id === 'aldwick-wren-6') as ReceiverType
const memory = blankMemory(wren)

const here = () => {
  const folder = testFolder('cli-state')
  onTestFinished(() => folder.remove())
  return folder.path
}
const refusal = (path: string, steps = fs) => statePlace(path, steps).then(() => 'fine', badInputWords)
const broken = (code: string) => ({
  ...fs,
  open: () => Promise.reject(Object.assign(new Error(code), { code })),
})
/** A disk of 4096 octets a cluster. */
const withFree = (bavail: number, blocks = 1000) => ({
  ...fs,
  statfs: (async () => ({
    type: 0,
    bsize: 4096,
    blocks,
    bfree: bavail,
    bavail,
  })) as unknown as typeof fs.statfs,
})

describe('the file of emulate --state', () => {
  it.each(['a b', 'two\nlines', 'prüf 飛', 'x'.repeat(255), '-dash'])(
    'may have any name in its folder: %j, and is not there before there is something to keep',
    async name => {
      const folder = here()
      const place = await statePlace(join(folder, name))
      await roomForState(place, memory)
      expect([readdirSync(folder), await keptState(place)]).toEqual([[], {}])
    },
  )

  it('is refused in words where it cannot be kept, and nothing is left behind', async () => {
    const folder = here()
    writeFileSync(join(folder, 'file'), 'x')
    mkdirSync(join(folder, 'in'))
    symlinkSync(join(folder, 'nowhere'), join(folder, 'dangling'))
    symlinkSync(join(folder, 'round'), join(folder, 'round'))
    expect(await refusal('')).toMatch(/^--state: The name of the file is empty/)
    expect(await refusal('-')).toMatch(/"-" begins with a dash, as options do\. Expected: the name of a file/)
    expect(await refusal('--json')).toMatch(/"--json" begins with a dash.*put \.\/ before its name/)
    expect(await refusal(join(folder, 'in'))).toMatch(/in, --state: This is a folder, not a file/)
    expect(await refusal(join(folder, 'none', 'a'))).toMatch(/its folder is not there.*Nothing was played/)
    expect(await refusal(join(folder, 'file', 'a'))).toMatch(/part of the way to it is a file/)
    expect(await refusal(join(folder, 'x'.repeat(256)))).toMatch(/the name is too long for this system/)
    expect(await refusal(join(folder, 'dangling'))).toMatch(/a link to something that is not there/)
    expect(await refusal(join(folder, 'round'))).toMatch(/a link that leads back to itself/)
    expect(await refusal(join(folder, 'new'), broken('EROFS'))).toMatch(/nothing can be written there/)
    expect(await refusal(join(folder, 'file'), broken('EACCES'))).toMatch(
      /file, --state: .*you may not write/,
    )
    expect(readdirSync(folder).sort()).toEqual(['dangling', 'file', 'in', 'round'])
    expect(readFileSync(join(folder, 'file'), 'utf8')).toBe('x')
  })

  it.runIf(process.platform === 'linux')('is no pipe and no device', async () => {
    const pipe = join(here(), 'pipe')
    execFileSync('mkfifo', [pipe])
    expect(await refusal(pipe)).toMatch(/pipe, --state: This is a pipe, a socket or a device/)
    expect(await refusal('/dev/null')).toMatch(/This is a pipe, a socket or a device/)
  })

  it('needs room for all that the receiver could come to hold', async () => {
    const most = mostStateCharacters(memory)
    expect(most).toBeGreaterThan(2 * wren.flash.programBytes)
    const place = await statePlace(join(here(), 'kept.json'))
    const clusters = Math.ceil(most / 4096)
    await roomForState(place, memory, withFree(clusters))
    const said = await roomForState(place, memory, withFree(clusters - 1)).then(() => 'fine', badInputWords)
    expect(said).toContain(`${clusters * 4096} octets are needed, and ${(clusters - 1) * 4096} are free`)
    // A file system that does not say how large it is.
    await roomForState(place, memory, withFree(0, 0))
  })

  it('is kept where a link leads to, and the link stays', async () => {
    const folder = here()
    const [real, link] = [join(folder, 'real.json'), join(folder, 'link.json')]
    writeFileSync(real, writeReceiverState(wren.id, memory))
    symlinkSync(real, link)
    const place = await statePlace(link)
    expect(place).toEqual({ named: link, path: await fs.realpath(real) })
    expect(await keptState(place)).toMatchObject({ state: { file: link } })
  })

  it('is as it was where the last save does not work, which is said in words', async () => {
    const folder = join(here(), 'in')
    mkdirSync(folder)
    const path = join(folder, 'kept.json')
    const keeper = new Keeper(path, wren.id, memory)
    await fs.rm(folder, { recursive: true })
    expect(await lastSave(keeper, { named: path, path }, memory)).toMatchObject({
      file: path,
      field: '--state',
      message: expect.stringMatching(/could not be kept: its folder is not there/),
    })
    mkdirSync(folder)
    expect(await lastSave(keeper, { named: path, path }, memory)).toBeUndefined()
    expect(readFileSync(path, 'utf8')).toBe(writeReceiverState(wren.id, memory))
  })

  it('is looked at before a port is opened', async () => {
    const path = join(here(), 'none', 'kept.json')
    const run = await preflash('emulate', '--port', '/nowhere/at/all', '--state', path)
    expect([run.code, run.out]).toEqual([2, ''])
    expect(run.err).toMatch(/kept\.json, --state: .*its folder is not there/)
    expect(existsSync(path)).toBe(false)
  }, 60_000)
})
