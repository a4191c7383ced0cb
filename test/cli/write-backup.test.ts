import { mkdirSync, readdirSync, readFileSync, symlinkSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it, onTestFinished } from 'vitest'
import { checkBackupPlace, copyBackup } from '../../main/cli/write-backup.ts'
import { badInputWords } from '../support/bad-input.ts'
import { preflash } from '../support/cli.ts'
import { testFolder } from '../support/folder.ts'

const here = () => {
  const folder = testFolder('cli-backup')
  onTestFinished(() => folder.remove())
  return folder.path
}
const refusal = (path: string) => checkBackupPlace(path).then(() => 'fine', badInputWords)

describe('the file of --backup', () => {
  it.each(['a b', 'two\nlines', '-', 'prüf 飛', 'x'.repeat(255)])(
    'may have any name: %j, and is not there before there is a backup',
    async name => {
      const folder = here()
      const kept = join(folder, 'kept.bin')
      writeFileSync(kept, 'held')
      expect(await refusal(join(folder, name))).toBe('fine')
      expect(readdirSync(folder)).toEqual(['kept.bin'])
      expect(await copyBackup({ backupFile: kept }, join(folder, name))).toMatchObject({ ok: true })
      expect(readFileSync(join(folder, name), 'utf8')).toBe('held')
      expect(readdirSync(folder).sort()).toEqual(['kept.bin', name].sort())
    },
  )

  it('is refused beforehand where nothing can be kept, in words', async () => {
    const folder = here()
    writeFileSync(join(folder, 'file'), 'x')
    mkdirSync(join(folder, 'in'))
    symlinkSync(join(folder, 'nowhere'), join(folder, 'dangling'))
    expect(await refusal('')).toMatch(/--backup: The name of the file is empty/)
    expect(await refusal(join(folder, 'in'))).toMatch(/there is something of this name already/)
    expect(await refusal(join(folder, 'file'))).toMatch(/there is something of this name already/)
    expect(await refusal(join(folder, 'dangling'))).toMatch(/there is something of this name already/)
    expect(await refusal(join(folder, 'none', 'b'))).toMatch(/its folder is not there/)
    expect(await refusal(join(folder, 'file', 'b'))).toMatch(/part of the way to it is a file/)
    expect(await refusal(join(folder, 'x'.repeat(256)))).toMatch(/name is too long.*Nothing was sent/)
    expect(readdirSync(folder).sort()).toEqual(['dangling', 'file', 'in'])
  })

  it('is never written over, and its backup is not lost', async () => {
    const folder = here()
    const [kept, taken] = [join(folder, 'kept.bin'), join(folder, 'taken')]
    writeFileSync(kept, 'held')
    writeFileSync(taken, 'mine')
    const copied = await copyBackup({ backupFile: kept }, taken)
    expect(copied.ok ? '' : copied.problems[0].message).toMatch(/name already\. The backup is in .*kept\.bin/)
    expect(readFileSync(taken, 'utf8')).toBe('mine')
    expect(readdirSync(folder).sort()).toEqual(['kept.bin', 'taken'])
  })

  it('keeps a write from being begun where it cannot be', async () => {
    const folder = here()
    const image = join(folder, 'image.bin')
    writeFileSync(image, 'x'.repeat(500))
    const base = ['write', '--direct', '--confirm', 'wiring', '--image', image, '--port', '/dev/ttyX9']
    const cannot = await preflash(...base, '--dialect', 'xmodem-crc', '--backup', join(folder, 'b.bin'))
    expect([cannot.code, cannot.err]).toEqual([
      2,
      expect.stringMatching(/--backup: XMODEM-CRC cannot read .* Leave --backup out/),
    ])
    const st = [...base, '--dialect', 'st-an3155', '--page-bytes', '1024']
    const taken = await preflash(...st, '--backup', image)
    expect([taken.code, taken.err]).toEqual([2, expect.stringMatching(/something of this name already/)])
  }, 60_000)
})
