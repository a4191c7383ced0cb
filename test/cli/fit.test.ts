import { describe, expect, it } from 'vitest'
import { preflash } from '../support/cli.ts'

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

  it('ends with 2 for a receiver or a file that is not there', async () => {
    expect((await preflash('fit', '--receiver', 'nobody')).code).toBe(2)
    expect((await preflash('fit', '--receiver', 'wren-new', '--image', '/nowhere.hex')).code).toBe(2)
    expect((await preflash('fit')).code).toBe(2)
  })
})
