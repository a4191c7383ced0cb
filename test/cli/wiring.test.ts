import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { writeBench } from '../../shared/model/bench.ts'
import { preflash } from '../support/cli.ts'

const folder = mkdtempSync(join(tmpdir(), 'preflash-wiring-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))

const wiring = (...args: string[]) => preflash('wiring', ...args)
const good = ['--receiver', 'wren-trainer', '--adapter', 'bench-programmer', '--cable', 'programmer-cable']

describe('preflash wiring', () => {
  it('passes the sound cable with exit code 0', async () => {
    const run = await wiring('--demo', ...good, '--json')
    expect(run.code).toBe(0)
    const report = JSON.parse(run.out)
    expect(report.safe).toBe(true)
    expect(report.pins.map((p: { role: string; volts: number }) => [p.role, p.volts])).toEqual([
      ['signal', 3.3],
      ['positive', 5],
      ['negative', 0],
    ])
  })

  it('refuses the reversed one with exit code 1, naming pin, volts and why, from a bench file too', async () => {
    const path = join(folder, 'club.json')
    writeFileSync(path, writeBench(demoBench()))
    const run = await wiring('--bench', path, ...good.slice(0, 5), 'programmer-cable-swapped', '--json')
    expect(run.code).toBe(1)
    const { safe, findings } = JSON.parse(run.out)
    expect(safe).toBe(false)
    expect(findings[0]).toMatchObject({
      code: 'supply-reversed',
      severity: 'danger',
      pin: 3,
      volts: 5,
      why: expect.stringContaining('reversed'),
      cure: { id: 'take-cable', choose: { cableId: 'programmer-cable' } },
    })
  })

  it('says it in words', async () => {
    const run = await wiring(
      '--receiver',
      'wren-trainer',
      '--adapter',
      'five-volt-adapter',
      '--cable',
      'programmer-cable',
    )
    expect(run.code).toBe(1)
    expect(run.out).toContain('NOT SAFE')
    expect(run.out).toMatch(/DANGER +Pin 1 \(S\) of the receiver would get 5\.0 V and stands 3\.6 V at most/)
  })

  it('takes two supplies and another line as they are said', async () => {
    const run = await wiring(
      '--demo',
      ...good,
      '--feed',
      'both',
      '--supply',
      'life-2',
      '--line',
      'inverted,half',
      '--json',
    )
    const codes = JSON.parse(run.out).findings.map((f: { code: string }) => f.code)
    expect(codes).toEqual(expect.arrayContaining(['two-supplies', 'inverted-line']))
  })

  it.each([
    ['an adapter that is not there', [...good.slice(0, 3), 'nothing', ...good.slice(4)], '--adapter'],
    ['a supply that is not there', [...good, '--supply', 'nothing'], '--supply'],
    ['no cable', good.slice(0, 4), '--cable'],
    ['no such feed', [...good, '--feed', 'magic'], '--feed'],
    ['no such line', [...good, '--line', 'crooked'], '--line'],
  ])('ends with exit code 2 on %s, and says what would be right', async (_, args, field) => {
    const run = await wiring('--demo', ...args)
    expect(run.code).toBe(2)
    expect(run.err).toContain(field)
    expect(run.err).toContain('Expected: ')
  })
})
