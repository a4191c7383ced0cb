import { execFileSync } from 'node:child_process'
import {
  closeSync,
  existsSync,
  ftruncateSync,
  mkdirSync,
  mkdtempSync,
  openSync,
  readdirSync,
  readFileSync,
  realpathSync,
  rmdirSync,
  writeFileSync,
  writeSync,
} from 'node:fs'
import * as fs from 'node:fs/promises'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import type { StoreSteps } from '../../main/card/card-folder.ts'
import { stageOnVolume } from '../../main/card/stage.ts'
import { targetAt } from '../../main/card/target.ts'
import { AT, asCard, demoImage, snapshot, spoiledSteps } from '../support/card-fixture.ts'
import { type TestFolder, testFolder } from '../support/folder.ts'

/** Real file systems in files and in memory. Only root may mount them. */

const MKFS = ['/usr/sbin/mkfs.ext4', '/sbin/mkfs.ext4'].find(path => existsSync(path))

function mounts(): boolean {
  if (process.platform !== 'linux' || process.getuid?.() !== 0 || MKFS === undefined) return false
  const probe = testFolder('probe')
  try {
    const image = ext4In(probe.path)
    execFileSync('mount', ['-o', 'loop', image, probe.path], { stdio: 'pipe' })
    execFileSync('umount', [probe.path])
    return true
  } catch {
    return false
  } finally {
    probe.remove()
  }
}

function ext4In(folder: string): string {
  const image = join(folder, 'card.img')
  const fd = openSync(image, 'w')
  ftruncateSync(fd, 16 * 1024 * 1024)
  closeSync(fd)
  execFileSync(MKFS!, ['-q', '-F', '-m', '0', image], { stdio: 'pipe' })
  return image
}

let folder: TestFolder
let card: string
const mounted: string[] = []
const mount = (...args: readonly string[]) => {
  execFileSync('mount', [...args, card], { stdio: 'pipe' })
  mounted.push(card)
}
const unmount = (...flags: readonly string[]) => {
  execFileSync('umount', [...flags, card], { stdio: 'pipe' })
  mounted.pop()
}
beforeEach(() => {
  folder = testFolder('mount')
  card = join(realpathSync(folder.path), 'CARD')
  mkdirSync(card)
})
afterEach(() => {
  while (mounted.length > 0) unmount()
  folder.remove()
})

const wren = demoImage()
const stage = (more = {}) =>
  stageOnVolume({ image: wren, target: asCard(card), folder: 'IMAGES', at: AT, ...more })
const can = mounts()

describe.skipIf(!can)(
  `on real mounts${can ? '' : ' (LEFT OUT: root, loop devices and mkfs.ext4 are needed)'}`,
  () => {
    it('what is read back comes from the device: a change there is seen, though the cache does not know it', async () => {
      const image = ext4In(folder.path)
      mount('-o', 'loop', image)
      const done = await stage()
      expect(done).toMatchObject({ ok: true, value: { readBack: 'device' } })
      // Now the same again, with one octet changed on the device between flush and reading back.
      let changed = false
      const other = demoImage('heron-8-1.7.0')
      const steps = spoiledSteps((step, _, path) => {
        if (step !== 'read' || changed || !path.endsWith('.image.part')) return
        const at = readFileSync(image).indexOf(Buffer.from(other.payload.subarray(8192, 12288)))
        expect(at).toBeGreaterThan(0)
        const fd = openSync(image, 'r+')
        writeSync(fd, Buffer.of(other.payload[8192] ^ 0xff), 0, 1, at)
        closeSync(fd)
        // Whoever asks the cache is told that all is well.
        expect(readFileSync(path).equals(Buffer.from(other.payload))).toBe(true)
        changed = true
      })
      const before = snapshot(card)
      const failing = await stage({ image: other, steps })
      expect(changed).toBe(true)
      expect(failing).toMatchObject({
        ok: false,
        problems: [
          { code: 'stage.card-unreadable', message: expect.stringContaining('not what was written') },
        ],
      })
      expect(snapshot(card)).toEqual(before)
    })

    it('a full volume says so, keeps the old file and no part file', async () => {
      mount('-t', 'tmpfs', '-o', 'size=200k', 'card')
      mkdirSync(join(card, 'IMAGES'))
      writeFileSync(join(card, 'IMAGES', 'aldwick-wren-6-2.4.0.image'), 'old')
      const before = snapshot(card)
      expect(await stage()).toMatchObject({ ok: false, problems: [{ code: 'stage.card-full' }] })
      expect(snapshot(card)).toEqual(before)
      // And where the sums are wrong, because somebody else writes too, the system itself says it in mid-write.
      const generous = async () => ({
        type: 0x01021994,
        bsize: 4096,
        blocks: 9999,
        bfree: 9999,
        bavail: 9999,
      })
      const full = await stage({ steps: { ...fs, statfs: generous } as unknown as StoreSteps })
      expect(full).toMatchObject({ ok: false, problems: [{ code: 'stage.card-full' }] })
      expect(snapshot(card)).toEqual(before)
    })

    it('memory is no device: what is read back there may come from the cache', async () => {
      mount('-t', 'tmpfs', '-o', 'size=4m', 'card')
      expect(await stage()).toMatchObject({ ok: true, value: { readBack: 'perhaps cache' } })
    })

    it('a read-only volume says so', async () => {
      const image = ext4In(folder.path)
      mount('-o', 'loop,ro', image)
      expect(await stage()).toMatchObject({ ok: false, problems: [{ code: 'stage.card-read-only' }] })
      const target = await targetAt(card)
      expect(target).toMatchObject({ ok: true, value: { kind: 'image-file', volume: { readOnly: true } } })
      if (!target.ok) return
      expect(await stage({ target: target.value })).toMatchObject({
        problems: [{ code: 'volume.read-only' }],
      })
    })

    it('a volume that becomes read only in mid-write says so, as Linux does after errors', async () => {
      mount('-o', 'loop', ext4In(folder.path))
      await stage()
      const before = snapshot(card)
      const steps = spoiledSteps((step, nth) => {
        if (step === 'open' && nth === 3) execFileSync('mount', ['-o', 'remount,ro', card])
      })
      expect(await stage({ image: demoImage('heron-8-1.7.0'), steps })).toMatchObject({
        problems: [{ code: 'stage.card-read-only' }],
      })
      execFileSync('mount', ['-o', 'remount,rw', card])
      for (const [name, content] of Object.entries(before)) expect(snapshot(card)[name]).toBe(content)
    })

    it('a volume that goes in mid-write: nothing is written to the folder that stays behind', async () => {
      mount('-o', 'loop', ext4In(folder.path))
      const steps = spoiledSteps((step, nth) => {
        if (step === 'write' && nth === 5) unmount('-l')
      })
      expect(await stage({ steps })).toMatchObject({ problems: [{ code: 'stage.card-absent' }] })
      expect(readdirSync(card)).toEqual([])
    })

    it('a place of mounts with nothing mounted is no card', async () => {
      const place = mkdtempSync('/mnt/preflash-test-')
      try {
        expect(await targetAt(place)).toMatchObject({ problems: [{ code: 'volume.not-mounted' }] })
        expect(await targetAt(place, { folderOnly: true })).toMatchObject({ value: { kind: 'folder' } })
      } finally {
        rmdirSync(place)
      }
    })
  },
)
