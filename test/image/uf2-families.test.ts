import { describe, expect, it } from 'vitest'
import { inspectImage } from '../../shared/image/inspect.ts'
import { uf2Families, uf2FamilyPart } from '../../shared/image/uf2-families.ts'
import { writeUf2 } from '../../shared/image/write-uf2.ts'

/** Against the README of the Microsoft UF2 specification: a family is marked by flag 0x2000 and the octets at 28. */
const segment = (fill: number) => [{ address: 0x2000, octets: new Uint8Array(600).fill(fill) }]
const first = writeUf2(segment(1), { familyId: 0x5ee21072 })
const second = writeUf2(segment(2), { familyId: 7 })
const plain = writeUf2(segment(3))
const joined = new Uint8Array([...first, ...second, ...plain])

describe('a UF2 file for several families', () => {
  it('names them in the order of their blocks', () => {
    expect(uf2Families(joined)).toEqual([0x5ee21072, 7, null])
    expect(uf2Families(first)).toEqual([0x5ee21072])
    expect(uf2Families(new Uint8Array(700))).toEqual([])
  })

  it('gives the blocks of one family as a file of its own, octet for octet', () => {
    expect(uf2FamilyPart(joined, 0x5ee21072)).toEqual(first)
    expect(uf2FamilyPart(joined, 7)).toEqual(second)
    expect(uf2FamilyPart(joined, null)).toEqual(plain)
    expect(uf2FamilyPart(joined, 8)).toHaveLength(0)
    expect(inspectImage(joined, 'j.uf2', { rawAddress: 0 })).toMatchObject({ ok: false })
    expect(inspectImage(uf2FamilyPart(joined, 7), 'j.uf2', { rawAddress: 0 })).toMatchObject({ ok: true })
  })

  it('keeps blocks apart also where they come mixed', () => {
    const blocks = (file: Uint8Array) => [0, 512, 1024].map(at => file.subarray(at, at + 512))
    const mixed = new Uint8Array(blocks(first).flatMap((b, i) => [...b, ...blocks(second)[i]]))
    expect(uf2FamilyPart(mixed, 7)).toEqual(second)
  })
})
