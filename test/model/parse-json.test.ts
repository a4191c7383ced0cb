import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { readManifest } from '../../shared/card/manifest.ts'
import { readDialect } from '../../shared/dialect/schema.ts'
import { readImageCard } from '../../shared/image/image-card.ts'
import { readTrustedKeys } from '../../shared/image/signature.ts'
import { readSessionFile } from '../../shared/logbook/session-file.ts'
import { readBench } from '../../shared/model/bench.ts'
import { parseJson } from '../../shared/model/parse-json.ts'
import { readSheet } from '../../shared/sheet/read-sheet.ts'

const lists = (depth: number, inner = '') => `${'['.repeat(depth)}${inner}${']'.repeat(depth)}`

describe('JSON from outside', () => {
  // ECMA-262 JSON.parse decides what is JSON, and what it says.
  it('that is no deeper than files of ours is what the parser makes of it', () => {
    fc.assert(
      fc.property(fc.json({ maxDepth: 8 }), text => {
        expect(parseJson(text)).toEqual({ ok: true, value: JSON.parse(text) })
      }),
      { numRuns: 200 },
    )
    expect(parseJson('{\n"a": 1,\n}')).toEqual({ ok: false, line: 3, why: 'its text is not valid JSON' })
  })

  it('may be a hundred deep, and no deeper; brackets in texts do not count', () => {
    expect(parseJson(lists(100)).ok).toBe(true)
    expect(parseJson(`[\n\n${lists(100)}]`)).toEqual({
      ok: false,
      line: 3,
      why: 'lists and objects lie more than 100 deep in one another',
    })
    expect(parseJson(lists(100, `"${'[{'.repeat(200)}\\"${'['.repeat(200)}\\\\"`)).ok).toBe(true)
    expect(parseJson(lists(1, Array(500).fill('[{}]').join(','))).ok).toBe(true)
    expect(parseJson(`"${'['.repeat(200)}`)).toMatchObject({ ok: false, why: 'its text is not valid JSON' })
  })

  it.each<[string, (text: string, file: string) => { ok: boolean }]>([
    ['a bench', readBench],
    ['a type sheet', readSheet],
    ['a dialect', readDialect],
    ['an image card', readImageCard],
    ['keys', readTrustedKeys],
    ['a list of staged images', readManifest],
    ['a session', readSessionFile],
  ])('is refused as %s for its depth before it is parsed', (_, read) => {
    expect(read(lists(101), 'deep.json')).toMatchObject({
      ok: false,
      problems: [{ file: 'deep.json', line: 1, message: expect.stringContaining('more than 100 deep') }],
    })
  })
})
