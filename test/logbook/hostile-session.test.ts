import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { readSessionFile } from '../../shared/logbook/session-file.ts'

const sound = {
  format: 'preflash-session',
  formatVersion: 1,
  session: {
    ...{ id: '017f22e2-79b0-7cc3-98c4-dc0c0c07398f', kind: 'write', receiverId: 'wren-trainer' },
    ...{ nickname: 'Wren', typeId: 'wren-6', benchName: 'Club', port: 'Blue cable', dialect: 'preflash-bus' },
    image: { name: 'wren.hex', version: '2.3.1', sha256: 'a'.repeat(64), sizeBytes: 262_144 },
    ...{ recovers: null, plan: { seed: 7 }, startedAtMs: 1000, endedAtMs: null, ending: null, outcome: null },
  },
  events: [
    { seq: 1, atMs: 1001, event: { kind: 'phase', phase: 'erase', attempt: 1 } },
    { seq: 2, atMs: 1002, event: { kind: 'state', state: 'in-boot-loader', text: 'It waits.' } },
  ],
  finding: null,
}
const text = JSON.stringify(sound)

/** Where a value stands in the file, for every object and list in it. */
function places(value: unknown, into: [Record<string, unknown>, string][] = []) {
  if (value === null || typeof value !== 'object') return into
  for (const key of Object.keys(value)) {
    into.push([value as Record<string, unknown>, key])
    places((value as Record<string, unknown>)[key], into)
  }
  return into
}

/** A file that is read comes back as itself; one that is not is refused with its name and in words. */
function readOrRefused(candidate: string): void {
  const read = readSessionFile(candidate, 'x.json')
  if (read.ok) expect(read.value.format).toBe('preflash-session')
  else
    for (const { code, file, message } of read.problems) {
      expect(code).toMatch(/^session\./)
      expect(file).toBe('x.json')
      expect(message).not.toBe('')
    }
}

describe('a session file from somebody else', () => {
  it('is the sound one that the others are made from', () => {
    expect(readSessionFile(text, 'x.json').ok).toBe(true)
  })

  it('may be any text, or the file cut anywhere and with anything put in', () => {
    fc.assert(fc.property(fc.string({ maxLength: 300, unit: 'binary' }), readOrRefused))
    fc.assert(
      fc.property(fc.nat(text.length), fc.nat(20), fc.string({ maxLength: 10 }), (at, out, put) =>
        readOrRefused(text.slice(0, at) + put + text.slice(at + out)),
      ),
      { numRuns: 500 },
    )
  })

  it('may have any value in any place', () => {
    fc.assert(
      fc.property(fc.nat(), fc.jsonValue({ maxDepth: 3 }), (which, value) => {
        const copy = structuredClone(sound)
        const all = places(copy)
        const [parent, key] = all[which % all.length]
        parent[key] = value
        readOrRefused(JSON.stringify(copy))
      }),
      { numRuns: 500 },
    )
  })
})
