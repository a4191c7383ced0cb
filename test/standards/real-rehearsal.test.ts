import { execFileSync } from 'node:child_process'
import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { dirname, join } from 'node:path'
import { afterAll, describe, expect, it } from 'vitest'
import { preflash } from '../support/cli.ts'
import { needs, titled } from '../support/needs.ts'

/**
 * Real images of real controllers, as Debian packages them, through a whole rehearsal; what the simulated receiver
 * holds afterwards is compared with what srecord's srec_cat makes of the file.
 */
const folder = mkdtempSync(join(tmpdir(), 'preflash-real-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))

const PROGRAM_BYTES = 512 * 1024
const hexPath = needs('microbit-hex')
const srecCat = needs('srec_cat')

describe.skipIf(hexPath === undefined || srecCat === undefined)(
  titled('firmware-microbit-micropython', 'microbit-hex', 'srec_cat'),
  () => {
    it('is refused by default, and what lies outside program flash is named', async () => {
      const run = await preflash('rehearse', '--image', String(hexPath))
      expect(run.code).toBe(2)
      expect(run.err).toContain('28 octets at 0x100010C0')
      expect(run.err).toContain('--drop-outside')
    })

    for (const route of ['cable', 'wireless'])
      it(`with --drop-outside, by ${route}, ends in flash as srec_cat writes it`, async () => {
        const flash = join(folder, `${route}.bin`)
        const run = await preflash(
          ...['rehearse', '--image', String(hexPath), '--declare', 'version=1.0.1', '--drop-outside'],
          ...['--route', route, '--flash', flash, '--json'],
        )
        expect(run.code).toBe(0)
        expect(JSON.parse(run.out)).toMatchObject({
          outcome: 'updated',
          flashEqualsImage: true,
          image: { droppedOutsideBytes: 28 },
        })
        const theirs = join(folder, 'theirs.bin')
        const end = `0x${PROGRAM_BYTES.toString(16)}`
        execFileSync(String(srecCat), [
          ...[String(hexPath), '-intel', '-crop', '0', end, '-fill', '0xFF', '0', end],
          ...['-o', theirs, '-binary'],
        ])
        expect(readFileSync(flash).equals(readFileSync(theirs))).toBe(true)
      })
  },
)

const fx2Path = needs('fx2lafw-images')
describe.skipIf(fx2Path === undefined)(titled('sigrok-firmware-fx2lafw', 'fx2lafw-images'), () => {
  const images =
    fx2Path === undefined ? [] : readdirSync(dirname(fx2Path)).filter(name => name.includes('fx2lafw'))
  it('has raw images', () => expect(images.length).toBeGreaterThan(5))
  for (const name of images.slice(0, 4))
    it(`${name} ends in flash octet for octet`, async () => {
      const path = join(dirname(String(fx2Path)), name)
      const flash = join(folder, `${name}.bin`)
      const run = await preflash(
        'rehearse',
        '--image',
        path,
        '--declare',
        'type=aldwick-wren-6,version=0.1.7',
        '--flash',
        flash,
      )
      expect(run.err).toBe('')
      expect(run.code).toBe(0)
      const image = readFileSync(path)
      const held = readFileSync(flash)
      expect(held.length).toBe(PROGRAM_BYTES)
      expect(held.subarray(0, image.length).equals(image)).toBe(true)
      expect(held.subarray(image.length).every(octet => octet === 0xff)).toBe(true)
    })
})
