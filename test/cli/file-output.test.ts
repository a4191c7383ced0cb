import { execFileSync } from 'node:child_process'
import {
  createReadStream,
  existsSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs'
import { join } from 'node:path'
import { text } from 'node:stream/consumers'
import { describe, expect, it, onTestFinished } from 'vitest'
import { BadInput } from '../../main/cli/ending.ts'
import { writeOutput } from '../../main/cli/file-output.ts'
import { sayProblem } from '../../shared/model/problem.ts'
import { testFolder } from '../support/folder.ts'

const here = () => {
  const folder = testFolder('cli-output')
  onTestFinished(() => folder.remove())
  return folder.path
}
const refusal = (path: string) =>
  writeOutput(path, '--trace', 'all of it').then(
    () => 'written',
    error => {
      if (!(error instanceof BadInput)) throw error
      return error.problems.map(sayProblem).join('\n')
    },
  )

describe('a file that is named to be written', () => {
  it('takes the place of one that is there whole, and of what a link leads to', async () => {
    const folder = here()
    writeFileSync(join(folder, 'file'), 'something longer than that')
    symlinkSync(join(folder, 'file'), join(folder, 'link'))
    expect(await refusal(join(folder, 'link'))).toBe('written')
    expect(readFileSync(join(folder, 'file'), 'utf8')).toBe('all of it')
    expect(readdirSync(folder).sort()).toEqual(['file', 'link'])
  })

  it('is refused in words', async () => {
    const folder = here()
    writeFileSync(join(folder, 'file'), '')
    mkdirSync(join(folder, 'in'))
    expect(await refusal('')).toMatch(/--trace: The name of a file is empty/)
    expect(await refusal(join(folder, 'in'))).toMatch(/this is a folder/)
    expect(await refusal(join(folder, 'none', 'a'))).toMatch(/its folder is not there/)
    expect(await refusal(join(folder, 'file', 'a'))).toMatch(/part of the way to it is a file/)
  })

  it.runIf(existsSync('/dev/full'))('may be a device, which may be full', async () => {
    expect(await refusal('/dev/null')).toBe('written')
    expect(await refusal('/dev/full')).toMatch(/the disk is full/)
  })

  it.runIf(process.platform === 'linux')(
    'may be a pipe that somebody reads',
    async () => {
      const pipe = join(here(), 'pipe')
      execFileSync('mkfifo', [pipe])
      expect(await refusal(pipe)).toMatch(/nobody reads at the other end of it/)
      const reader = createReadStream(pipe)
      const read = text(reader)
      for (let said = await refusal(pipe); said !== 'written'; ) said = await refusal(pipe)
      expect(await read).toBe('all of it')
    },
    30_000,
  )
})
