import { writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { expect, it, onTestFinished } from 'vitest'
import { dialectText, exchangeText } from '../../main/cli/dialect-text.ts'
import { builtInList } from '../../shared/bench-run/chosen.ts'
import { preflash } from '../support/cli.ts'
import { testFolder } from '../support/folder.ts'

function files(contents: Readonly<Record<string, string>>) {
  const folder = testFolder('cli-dialect')
  onTestFinished(() => folder.remove())
  for (const [name, text] of Object.entries(contents)) writeFileSync(join(folder.path, name), text)
  return (name: string) => join(folder.path, name)
}

it('a dialect is printed as a file, which can be read, changed and held against an exchange', async () => {
  const printed = await preflash('dialect', 'st-an3155', '--file')
  expect(printed.code).toBe(0)
  const changed = printed.out.replace('"name": "st-an3155"', '"name": "mine"')
  // Get ID after ST AN3155: the project's reference values, section 4; and one octet of it changed.
  const good = '→ 7F ← 79\n→ 02 FD ← 79 01 04 10 79\n'
  const at = files({ 'mine.json': changed, 'good.txt': good, 'bad.txt': good.replace('02 FD', '02 FC') })
  const agrees = await preflash('dialect', at('mine.json'), '--exchange', at('good.txt'), '--json')
  expect([agrees.code, JSON.parse(agrees.out)]).toEqual([0, expect.objectContaining({ agrees: true })])
  const differs = await preflash('dialect', at('mine.json'), '--exchange', at('bad.txt'))
  expect(differs.code).toBe(1)
  expect(differs.out).toMatch(/first difference is in line 2\..*FD/s)
}, 60_000)

it('what is wrong with a file is named with file, line and field', async () => {
  const broken = (await preflash('dialect', 'xmodem-crc', '--file')).out.replace(
    '"stopBits": 1',
    '"stopBits": 3',
  )
  const line = broken.split('\n').findIndex(text => text.includes('stopBits')) + 1
  const at = files({ 'broken.json': broken, 'odd.txt': '→ 7F\n← xy' })
  const wrong = await preflash('dialect', at('broken.json'))
  expect([wrong.code, wrong.err]).toEqual([
    2,
    expect.stringContaining(`broken.json, line ${line}, line.stopBits: `),
  ])
  const odd = await preflash('dialect', 'xmodem-crc', '--exchange', at('odd.txt'))
  expect([odd.code, odd.err]).toEqual([2, expect.stringMatching(/odd\.txt, line 2: /)])
  const bus = await preflash('dialect', 'preflash-bus', '--file')
  expect([bus.code, bus.err]).toEqual([2, expect.stringContaining('is no data')])
  expect((await preflash('dialect', '--file')).code).toBe(2)
}, 60_000)

it('every dialect of the list says what it can do', async () => {
  const { code, out } = await preflash('dialect', '--json')
  expect(code).toBe(0)
  expect(JSON.parse(out).dialects).toEqual(builtInList())
  for (const one of builtInList()) expect(dialectText(one)).toContain(one.source.text)
  expect(JSON.parse((await preflash('dialect', '--schema')).out)).toMatchObject({ type: 'object' })
}, 60_000)

it('a long turn is cut in the list', () => {
  const text = exchangeText({
    agrees: true,
    recognised: [
      { line: 1, to: 'receiver', hex: 'AA '.repeat(99), step: 'enter[0]', what: 'Enter', values: { n: 3 } },
    ],
    difference: undefined,
  })
  expect(text.split('\n')[0]).toMatch(/^ {4}1 {2}→ (AA ){11}.*… +Enter, n = 3$/)
})
