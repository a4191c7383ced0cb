import { execFileSync } from 'node:child_process'
import { once } from 'node:events'
import {
  closeSync,
  createWriteStream,
  existsSync,
  mkdirSync,
  openSync,
  symlinkSync,
  writeFileSync,
  writeSync,
} from 'node:fs'
import { createServer } from 'node:net'
import { join } from 'node:path'
import { describe, expect, it, onTestFinished } from 'vitest'
import { usableDataFolder } from '../../main/cli/data-folder.ts'
import { cardBeside, readInput } from '../../main/cli/input.ts'
import { badInputWords } from '../support/bad-input.ts'
import { testFolder } from '../support/folder.ts'

const here = () => {
  const folder = testFolder('cli-input')
  onTestFinished(() => folder.remove())
  return folder.path
}
const refusal = (path: string) => readInput(path, 100).then(() => 'read', badInputWords)
const noFolder = (path: string): string => {
  try {
    return usableDataFolder(path)
  } catch (error) {
    return badInputWords(error)
  }
}
const ODD_NAMES = ['a b', `'"`, 'two\nlines', '-dash', 'prüf 飛', 'x'.repeat(255)]

describe('a file from outside', () => {
  it.each(ODD_NAMES)('is read whatever its name: %j', async name => {
    const path = join(here(), name)
    writeFileSync(path, 'octets')
    expect(Buffer.from(await readInput(path, 100)).toString()).toBe('octets')
  })

  it('is refused in words that say what is in its place', async () => {
    const folder = here()
    writeFileSync(join(folder, 'file'), 'x'.repeat(101))
    symlinkSync(join(folder, 'nowhere'), join(folder, 'dangling'))
    symlinkSync(join(folder, 'round'), join(folder, 'round'))
    expect(await refusal('')).toMatch(/name of a file is empty/)
    expect(await refusal(folder)).toMatch(/cannot be read: this is a folder\. Check the name/)
    expect(await refusal(join(folder, 'file'))).toMatch(/has 101 octets.*at most 100/)
    expect(await refusal(join(folder, 'file', 'in'))).toMatch(
      /cannot be read: part of the way to it is a file/,
    )
    expect(await refusal(join(folder, 'dangling'))).toMatch(/cannot be read: there is no such file\./)
    expect(await refusal(join(folder, 'round'))).toMatch(/leads back to itself/)
    expect(await refusal(join(folder, 'x'.repeat(256)))).toMatch(/name is too long/)
  })

  it.runIf(existsSync('/dev/full'))('is no device, which would never end', async () => {
    for (const device of ['/dev/full', '/dev/zero', '/dev/null'])
      expect(await refusal(device)).toMatch(/This is a device, not a file/)
  })

  it.runIf(process.platform === 'linux')('may be a pipe, of which no more is read than may be', async () => {
    const pipe = join(here(), 'pipe')
    execFileSync('mkfifo', [pipe])
    createWriteStream(pipe).end('octets')
    expect(Buffer.from(await readInput(pipe, 100)).toString()).toBe('octets')
    createWriteStream(pipe)
      .on('error', () => {})
      .end('x'.repeat(200_000))
    expect(await refusal(pipe)).toMatch(/more than 100 octets/)
  })

  it.runIf(process.platform === 'linux')(
    'is not waited for without end where nobody writes into the pipe, or nobody ends it',
    async () => {
      const pipe = join(here(), 'pipe')
      execFileSync('mkfifo', [pipe])
      const soon = { silentMs: 50, longestMs: 60_000 }
      const waited = () => readInput(pipe, 100, soon).then(() => 'read', badInputWords)
      expect(await waited()).toMatch(
        /pipe: This is a pipe, and .* did not come out of it.* Name the file itself/,
      )
      // Both ends at once, or opening one would wait for the other.
      const writer = openSync(pipe, 'r+')
      writeSync(writer, 'octets')
      expect(await waited()).toMatch(/did not come out of it/)
      writeSync(writer, 'octets')
      expect(
        await readInput(pipe, 100, { silentMs: 60_000, longestMs: 50 }).then(() => 'read', badInputWords),
      ).toMatch(/did not come out of it/)
      closeSync(writer)
    },
    30_000,
  )

  it('is no socket', async () => {
    const place = join(here(), 'socket')
    const server = createServer().listen(place)
    await once(server, 'listening')
    expect(await refusal(place)).toMatch(/This is a socket, not a file/)
    server.close()
  })

  it('has no image card where there is only something else of that name', async () => {
    const image = join(here(), 'image.hex')
    mkdirSync(`${image}.card.json`)
    expect(await cardBeside(image)).toBeUndefined()
    expect(await cardBeside(join(here(), 'other.hex'))).toBeUndefined()
  })

  it('is not taken as if it had no image card where there is one that cannot be read', async () => {
    const image = join(here(), 'image.hex')
    writeFileSync(`${image}.card.json`, ' '.repeat(200_001))
    expect(await cardBeside(image).then(() => 'read', badInputWords)).toMatch(
      /image\.hex\.card\.json: .*200001 octets/,
    )
  })
})

describe('the folder of --data', () => {
  it.each(ODD_NAMES)('may have any name: %j', name => {
    const path = join(here(), name)
    expect(noFolder(path)).toBe(path)
  })

  it('is refused where something else is in its place', () => {
    const folder = here()
    writeFileSync(join(folder, 'file'), '')
    symlinkSync(join(folder, 'nowhere'), join(folder, 'dangling'))
    symlinkSync(join(folder, 'round'), join(folder, 'round'))
    expect(noFolder('')).toMatch(/name of the folder is empty/)
    expect(noFolder(join(folder, 'file'))).toMatch(/This is a file, not the folder/)
    expect(noFolder(join(folder, 'file', 'in'))).toMatch(/This is a file, not the folder/)
    expect(noFolder(join(folder, 'dangling'))).toMatch(/link to something that is not there/)
    expect(noFolder(join(folder, 'round'))).toMatch(/leads back to itself/)
    expect(noFolder(join(folder, 'x'.repeat(256)))).toMatch(/too long/)
  })
})
