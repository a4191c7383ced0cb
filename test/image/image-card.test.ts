import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  cardForDeclared,
  type ImageCard,
  imageCardSchema,
  MAX_CARD_CHARACTERS,
  readImageCard,
  writeImageCard,
} from '../../shared/image/image-card.ts'

const full: ImageCard = {
  structureVersion: 1,
  sequenceNumber: 24,
  vendorId: '79c478c4-5690-5816-bae7-6463f2323bee',
  classId: '0c3581b3-046a-55ac-b074-1235d0c94965',
  typeId: 'aldwick-wren-6',
  version: '2.4.0-rc.1+7',
  payloadFormat: 'raw',
  sizeBytes: 262_144,
  sha256: 'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad',
  crc32: 0xcbf43926,
  programAddress: 0x08004000,
  generation: 3,
  convertsFrom: 2,
  bands: ['2.4GHz'],
  region: 'lbt',
  hardwareRevisions: ['A', 'B'],
  wirelessCapable: true,
  minBootVersion: '1.0.0',
  precursor: { sha256: 'e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855' },
  dependencies: { moduleFirmware: '>=4.0.0 <7.0.0', radioSystem: '^2.0.0', receiverFirmware: '*' },
  notes: 'Telemetry rate raised.',
  signature: { algorithm: 'Ed25519', keyId: 'marsh-lane', value: 'ab'.repeat(64) },
}

/** Reads the full card with one field replaced (by path) and gives back what was complained about. */
function with_(path: string, value: unknown) {
  const raw = structuredClone(full) as Record<string, unknown>
  const keys = path.split('.')
  const last = keys.pop() as string
  const target = keys.reduce((o, key) => o[key] as Record<string, unknown>, raw)
  target[last] = value
  const result = readImageCard(JSON.stringify(raw), 'wren.card.json')
  return result.ok ? [] : result.problems
}

describe('reading', () => {
  it('round trip, also behind a byte-order mark', () => {
    for (const text of [writeImageCard(full), `\uFEFF${writeImageCard(full)}`]) {
      const result = readImageCard(text, 'wren.card.json')
      expect(result).toEqual({ ok: true, value: full, warnings: [] })
    }
  })

  it.each(['raw', 'intel-hex', 's-record', 'uf2'])('of an image in the format %s', payloadFormat => {
    expect(readImageCard(JSON.stringify({ ...full, payloadFormat }), 'x').ok).toBe(true)
  })

  it('capital letters in digests and identifiers do not matter', () => {
    const text = JSON.stringify({
      ...full,
      sha256: full.sha256.toUpperCase(),
      classId: String(full.classId).toUpperCase(),
    })
    expect(readImageCard(text, 'x')).toMatchObject({ ok: true, value: full })
  })

  it.each([
    ['structureVersion', 2],
    ['sequenceNumber', -1],
    ['sequenceNumber', 1.5],
    ['vendorId', '79c478c4-5690-4816-bae7-6463f2323bee'],
    ['typeId', 'No Such Id'],
    ['version', '2.4'],
    ['payloadFormat', 'elf'],
    ['payloadFormat', 'zip'],
    ['sizeBytes', 0],
    ['sizeBytes', 9_000_000],
    ['sha256', 'abc'],
    ['crc32', 2 ** 32],
    ['programAddress', '0x08004000'],
    ['generation', 0],
    ['bands', []],
    ['region', 'everywhere'],
    ['hardwareRevisions', []],
    ['wirelessCapable', 'yes'],
    ['precursor.sha256', 7],
    ['dependencies.moduleFirmware', 'newer'],
    ['signature.value', 'ab'],
    ['notes', 'x'.repeat(2001)],
  ])('names the field %s when it is %j', (path, value) => {
    const [problem] = with_(path, value)
    expect(problem).toMatchObject({ code: 'card.field', file: 'wren.card.json' })
    expect(problem.field).toMatch(new RegExp(`^${path}`))
    expect(problem.remedy).toBeTruthy()
  })

  it('names a missing field, and refuses one that it does not know', () => {
    expect(with_('sha256', undefined)[0].field).toBe('sha256')
    expect(with_('surprise', 1)[0].message).toContain('surprise')
  })

  it('refuses what is no JSON or too long', () => {
    const bad = readImageCard('{\n"typeId": nonsense', 'x')
    expect(bad.ok ? undefined : bad.problems[0]).toMatchObject({ code: 'card.not-json', file: 'x', line: 2 })
    const long = readImageCard(' '.repeat(MAX_CARD_CHARACTERS + 1), 'x')
    expect(long.ok ? undefined : long.problems[0].code).toBe('card.too-large')
  })

  it('never throws', () => {
    fc.assert(
      fc.property(fc.oneof(fc.string(), fc.json()), text => {
        expect(readImageCard(text, 'x').ok).toBe(false)
      }),
    )
  })
})

describe('declaring', () => {
  const { typeId, payloadFormat, sizeBytes, sha256, crc32, programAddress } = full
  const declared = { typeId, payloadFormat, sizeBytes, sha256, crc32, programAddress }

  it('leaves unknown what was not said', () => {
    const card = cardForDeclared(declared)
    expect(imageCardSchema.parse(card)).toEqual(card)
    const { structureVersion, dependencies, ...rest } = card
    expect(structureVersion).toBe(1)
    expect(dependencies).toEqual({})
    expect(
      Object.entries(rest)
        .filter(([, value]) => value === 'unknown')
        .map(([key]) => key)
        .sort(),
    ).toEqual([
      'bands',
      'classId',
      'generation',
      'hardwareRevisions',
      'region',
      'sequenceNumber',
      'vendorId',
      'version',
      'wirelessCapable',
    ])
  })

  it('keeps what was said; undefined says nothing', () => {
    expect(cardForDeclared({ ...declared, version: '1.2.3', generation: undefined })).toMatchObject({
      version: '1.2.3',
      generation: 'unknown',
    })
  })
})
