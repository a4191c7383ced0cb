import { execFileSync } from 'node:child_process'
import { mkdirSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it, onTestFinished } from 'vitest'
import { checkDialectName, dialectOption, fileOrBuiltIn } from '../../main/cli/dialect-option.ts'
import { liveDialect } from '../../main/cli/emulate-options.ts'
import { DialectFiles } from '../../main/store/dialect-files.ts'
import { builtInChosen } from '../../shared/bench-run/chosen.ts'
import { badInputWords } from '../support/bad-input.ts'
import { preflash } from '../support/cli.ts'
import { testFolder } from '../support/folder.ts'

const here = () => {
  const folder = testFolder('cli-dialect')
  onTestFinished(() => folder.remove())
  return folder.path
}
const refusal = (text: string) => dialectOption(text).then(() => 'taken', badInputWords)
const oneLine = (text: string) => expect(text.split('\n')).toHaveLength(1)

describe('the dialect that is named', () => {
  it.each(['a b.json', 'prüf 飛.json', '-dash.json', 'MINE.JSON', 'mine.txt'])(
    'may be a file of any name in its folder: %j',
    async name => {
      const path = join(here(), name)
      const builtIn = builtInChosen('xmodem-crc')
      writeFileSync(path, builtIn?.kind === 'data' ? builtIn.text : '')
      expect(await dialectOption(path)).toMatchObject({ kind: 'data', name: 'xmodem-crc' })
      expect(await liveDialect(path)).toMatchObject({ name: 'xmodem-crc' })
    },
  )

  it('is refused in one sentence that names the file and what was expected', async () => {
    const folder = here()
    mkdirSync(join(folder, 'in.json'))
    const other = join(folder, 'other.json')
    writeFileSync(other, '{"format":"preflash-bench","version":1,"name":"mine"}')
    writeFileSync(join(folder, 'large.json'), ' '.repeat(10_000_000))
    expect(await refusal(join(folder, 'in.json'))).toMatch(
      /in\.json: The file cannot be read: this is a folder/,
    )
    expect(await refusal(join(folder, 'none.json'))).toMatch(
      /none\.json: The file cannot be read: there is no such file/,
    )
    expect(await refusal(join(folder, `${'x'.repeat(300)}.json`))).toMatch(/name is too long/)
    expect(await refusal(join(folder, 'large.json'))).toMatch(
      /large\.json: .*10000000 octets.*at most 800000/,
    )
    const said = await refusal(other)
    expect(said).toMatch(/other\.json: This is not a dialect file.*"preflash-dialect".*Name another file/)
    oneLine(said)
  })

  it('is no option whose file was left out', async () => {
    expect(await refusal('--json')).toMatch(/--dialect: "--json" begins with a dash.*or a dialect file/)
    expect(await refusal('-')).toMatch(/--dialect: "-" begins with a dash/)
  })

  it('is refused with what may have been meant where there is none of this name', async () => {
    const files = new DialectFiles(here())
    const said = [
      await liveDialect('xmodem').then(() => 'taken', badInputWords),
      await fileOrBuiltIn('xmodem').then(() => 'taken', badInputWords),
      await checkDialectName(files, 'xmodem').then(() => 'taken', badInputWords),
    ]
    for (const text of said)
      expect(text).toMatch(/^--dialect: "xmodem" is not the name of a dialect.*Did you mean xmodem-crc/)
    expect(await liveDialect('').then(() => 'taken', badInputWords)).toMatch(
      /"" is not the name.*as in \.\/mine\.json/,
    )
    await checkDialectName(files, 'ymodem')
    await checkDialectName(files, undefined)
  })

  it.runIf(process.platform === 'linux')(
    'may come out of a pipe, and that it is waited for is said',
    async () => {
      const pipe = join(here(), 'pipe.json')
      execFileSync('mkfifo', [pipe])
      const { code, err } = await preflash('dialect', pipe)
      expect(code).toBe(2)
      expect(err).toMatch(
        /^Waiting for what comes out of the pipe .*pipe\.json …\n.*pipe\.json: This is a pipe/,
      )
    },
    60_000,
  )
})
