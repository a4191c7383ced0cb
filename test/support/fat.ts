import { execFileSync, spawnSync } from 'node:child_process'
import { closeSync, ftruncateSync, openSync } from 'node:fs'
import { tool } from './tools.ts'

/** Card images made by dosfstools and looked at with mtools; no mount is needed. */

const MIB = 1024 * 1024
const env = { ...process.env, MTOOLS_SKIP_CHECK: '1', LC_ALL: 'C.UTF-8' }

/** Makes an empty FAT32 volume in a file. @param sectors of 512 octets to a cluster */
export function makeFat32(path: string, mebibytes: number, sectors: number): void {
  const fd = openSync(path, 'w')
  ftruncateSync(fd, mebibytes * MIB)
  closeSync(fd)
  execFileSync(tool('mkfs.fat')!, ['-F', '32', '-s', String(sectors), '-n', 'CLUB', path], { stdio: 'pipe' })
}

const beside = (name: string) => tool('mcopy')!.replace(/mcopy$/, name)

/** One of the mtools on this volume; returns what it prints. */
export const mtool = (name: string, image: string, ...args: readonly string[]): string =>
  execFileSync(beside(name), ['-i', image, ...args], {
    env,
    encoding: 'utf8',
    stdio: ['ignore', 'pipe', 'pipe'],
  })

/** Paths of everything on it, as mdir lists them. */
export const listing = (image: string): string[] =>
  mtool('mdir', image, '-/', '-b', '-a', '::')
    .split('\n')
    .filter(line => line !== '')
    .map(line => line.replace(/^::\//, ''))

/** Free octets, as mdir reads them out of the allocation table. */
export function freeBytes(image: string): number {
  const found = /([\d ]+) bytes free/.exec(mtool('mdir', image, '::'))
  if (found === null) throw new Error('mdir does not say what is free')
  return Number(found[1].replaceAll(' ', ''))
}

/** What dosfstools' own checker says; empty where all is well. */
export function fsckComplaints(image: string): string {
  const run = spawnSync(tool('mkfs.fat')!.replace(/mkfs\.fat$/, 'fsck.fat'), ['-n', image], {
    encoding: 'utf8',
  })
  return run.status === 0 ? '' : `${run.stdout}${run.stderr}`
}
