import { execFileSync } from 'node:child_process'
import { createHash } from 'node:crypto'
import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { dirname, join } from 'node:path'
import { crc32 as zlibCrc32 } from 'node:zlib'
import MemoryMap from 'nrf-intel-hex'
import { describe, expect, it } from 'vitest'
import { inspectImage, partInFlash } from '../../shared/image/inspect.ts'
import { flatten } from '../../shared/image/segments.ts'
import { needs, titled } from '../support/needs.ts'

/**
 * Images of real controllers as Debian packages them: firmware-microbit-micropython (Intel HEX, with a second small
 * segment far outside program flash) and sigrok-firmware-fx2lafw (raw binaries).
 */
const sha256 = (octets: Uint8Array) => createHash('sha256').update(octets).digest('hex')

function inspect(path: string, rawAddress = 0) {
  const octets = new Uint8Array(readFileSync(path))
  const result = inspectImage(octets, path, { rawAddress })
  if (!result.ok) throw new Error(JSON.stringify(result.problems))
  return { octets, image: result.value }
}

const hexPath = needs('microbit-hex')
describe.skipIf(hexPath === undefined)(titled('a real Intel HEX file', 'microbit-hex'), () => {
  it('has the segments that nrf-intel-hex finds, and says that they lie far apart', () => {
    const { octets, image } = inspect(hexPath as string)
    const theirs = MemoryMap.fromHex(new TextDecoder('latin1').decode(octets)).join()
    expect(image.segments.map(s => [s.address, s.octets.length])).toEqual(
      [...theirs].map(([address, part]) => [address, part.length]),
    )
    for (const s of image.segments) expect(sha256(s.octets)).toBe(sha256(theirs.get(s.address) as Uint8Array))
    expect(image.format).toBe('intel-hex')
    expect(image.problems.map(p => p.code)).toEqual(['image.far-apart'])
  })

  it('without what lies outside 512 KiB, says what is left out', () => {
    const { image } = inspect(hexPath as string)
    const { inside, outside, problem } = partInFlash(image, 0, 512 * 1024)
    expect(inside?.segments).toHaveLength(1)
    expect(inside?.problems).toEqual([])
    expect(outside).toHaveLength(1)
    expect(outside[0].address).toBeGreaterThan(0x1000_0000)
    expect(problem?.code).toBe('image.outside')
    expect(problem?.message).toContain('0x10001')
  })

  it.skipIf(needs('srec_cat') === undefined)(titled('equals srec_cat’s binary of it', 'srec_cat'), () => {
    const folder = mkdtempSync(join(tmpdir(), 'preflash-real-'))
    try {
      const out = join(folder, 'out.bin')
      execFileSync(needs('srec_cat') as string, [
        hexPath as string,
        '-intel',
        '-crop',
        '0',
        '0x80000',
        '-fill',
        '0xFF',
        '0',
        '0x80000',
        '-o',
        out,
        '-binary',
      ])
      const { inside } = partInFlash(inspect(hexPath as string).image, 0, 0x80000)
      const ours = flatten(inside?.segments ?? [], 0, 0x80000)
      expect(sha256(ours)).toBe(sha256(readFileSync(out)))
      const { lowestAddress: low, highestAddress: high } = inside as NonNullable<typeof inside>
      expect(inside?.sha256).toBe(sha256(readFileSync(out).subarray(low, high + 1)))
    } finally {
      rmSync(folder, { recursive: true, force: true })
    }
  })
})

const rawPath = needs('fx2lafw-images')
describe.skipIf(rawPath === undefined)(titled('real raw images', 'fx2lafw-images'), () => {
  const folder = dirname(rawPath ?? '/nowhere/x')
  const names = rawPath === undefined ? [] : readdirSync(folder).filter(name => name.endsWith('.fw'))

  it('are there', () => expect(names.length).toBeGreaterThan(5))

  it.each(names)('%s is taken as it is', name => {
    const { octets, image } = inspect(join(folder, name), 0x4000)
    expect(image).toMatchObject({
      format: 'raw',
      fileBytes: octets.length,
      payloadBytes: octets.length,
      lowestAddress: 0x4000,
      highestAddress: 0x4000 + octets.length - 1,
      sha256: sha256(octets),
      crc32: zlibCrc32(octets),
      problems: [],
    })
    expect(image.embedded).toBeUndefined()
  })
})
