import { writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it, onTestFinished } from 'vitest'
import { RULE_IDS } from '../../shared/fit/rule-ids.ts'
import { preflash } from '../support/cli.ts'
import { testFolder } from '../support/folder.ts'

describe('preflash fit', () => {
  it('ranks the images of the bench, with findings, evidence and remedies', async () => {
    const run = await preflash('fit', '--receiver', 'wren-trainer', '--json')
    expect(run.code).toBe(0)
    const { ranked, askNext } = JSON.parse(run.out)
    expect(ranked[0]).toMatchObject({ image: 'wren-6-2.4.0', fits: true })
    expect(ranked.at(-1).fits).toBe(false)
    const broken = ranked.at(-1).findings.find((f: { holds: string }) => f.holds === 'no')
    expect(broken.evidence.length).toBeGreaterThan(0)
    expect(broken.remedies.length).toBeGreaterThan(0)
    expect(broken).toHaveProperty('severity', 'block')
    expect(askNext).toBeNull()
  })

  it('ends with 1 when nothing fits for certain, and says what to look up', async () => {
    const run = await preflash('fit', '--receiver', 'wren-unmarked', '--json')
    expect(run.code).toBe(1)
    expect(JSON.parse(run.out).askNext).toMatchObject({ fact: 'receiver.region', bits: 1 })
    expect((await preflash('fit', '--receiver', 'wren-unmarked')).out).toContain('Look up next:')
  })

  it('asks for the looks of a receiver whose type nobody knows, and calls nothing fine', async () => {
    const run = await preflash('fit', '--receiver', 'flea-market', '--json')
    expect(run.code).toBe(1)
    const { ranked, askNext, typeNotKnown } = JSON.parse(run.out)
    expect(ranked.some((r: { fits: boolean }) => r.fits)).toBe(false)
    expect(askNext).toMatchObject({ fact: 'receiver.seen.outputs', bits: 2.252 })
    expect(askNext.answers[0]).toMatchObject({ value: '4', leaves: ['aldwick-finch-4'] })
    expect(typeNotKnown.possible).toHaveLength(6)
    const said = (await preflash('fit', '--receiver', 'flea-market')).out
    expect(said).toContain('Look up next: How many servo outputs are there?')
    expect(said).toContain('The type is not known. It may be: Aldwick Wren 6')
  })

  it('does not take a bare file for a receiver of unknown type for what it may not be', async () => {
    const folder = testFolder('fit')
    onTestFinished(() => folder.remove())
    const bare = join(folder.path, 'bare.bin')
    writeFileSync(bare, 'x'.repeat(4096))
    const run = await preflash('fit', '--receiver', 'flea-market', '--image', bare)
    expect(run.code).toBe(2)
    expect(run.err).toContain('--declare type=ID')
    const declared = await preflash(
      ...['fit', '--receiver', 'flea-market', '--image', bare, '--declare', 'type=aldwick-wren-6', '--json'],
    )
    expect(declared.code).toBe(1)
    expect(JSON.parse(declared.out).ranked[0].verdict).not.toBe('fits')
  })

  it('takes single images, and says which rule keeps one out', async () => {
    const run = await preflash(
      'fit',
      '--receiver',
      'wren-new',
      '--route',
      'wireless',
      '--image',
      'wren-6-2.4.0',
      '--json',
    )
    expect(run.code).toBe(1)
    const [only] = JSON.parse(run.out).ranked
    expect(only.findings.find((f: { rule: string }) => f.rule === 'first-by-cable').holds).toBe('no')
  })

  it('lists every rule with its claim and source, and says what is to be done again of images that may go in', async () => {
    const listed = await preflash('fit', '--rules', '--json')
    expect(
      JSON.parse(listed.out)
        .rules.map((r: { id: string }) => r.id)
        .sort(),
    ).toEqual([...RULE_IDS].sort())
    expect((await preflash('fit', '--rules')).out).toContain('RFC 9124, required image version list')
    const { ranked } = JSON.parse((await preflash('fit', '--receiver', 'wren-trainer', '--json')).out)
    for (const one of ranked)
      expect(one.afterwards.length > 0, one.image).toBe(one.verdict !== 'does-not-fit')
  })

  it('ends with 2 for a receiver or a file that is not there', async () => {
    expect((await preflash('fit', '--receiver', 'nobody')).code).toBe(2)
    expect((await preflash('fit', '--receiver', 'wren-new', '--image', '/nowhere.hex')).code).toBe(2)
    expect((await preflash('fit')).code).toBe(2)
  })
})
