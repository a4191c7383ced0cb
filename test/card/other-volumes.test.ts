import { describe, expect, it } from 'vitest'
import { macVolumes, windowsVolumes } from '../../main/card/other-volumes.ts'
import { refusalOf, volumeOf } from '../../main/card/volume.ts'

/** Neither system is here: what their commands print was written by hand after their manuals. */

describe('volumes of macOS', () => {
  it('are read from what mount prints', async () => {
    const text = [
      '/dev/disk3s1s1 on / (apfs, sealed, local, read-only, journaled)',
      'devfs on /dev (devfs, local, nobrowse)',
      '/dev/disk3s5 on /System/Volumes/Data (apfs, local, journaled, nobrowse)',
      '/dev/disk4s1 on /Volumes/CLUB CARD (msdos, local, nodev, nosuid, noowners)',
      '/dev/disk5s1 on /Volumes/TINY (msdos, local, nodev, nosuid, read-only, noowners)',
      '//pat@server/share on /Volumes/share (smbfs, nodev, nosuid, mounted by pat)',
      '/dev/disk6s2 on /Volumes/Backup (apfs, local, nodev, nosuid, journaled)',
      '/dev/disk3s7 on /Volumes/Spare (apfs, local, journaled)',
    ].join('\n')
    const volumes = await macVolumes({
      mounts: async () => text,
      statfs: async path => ({ bsize: 4096, blocks: path.endsWith('TINY') ? 2000 : 4_000_000, bavail: 1000 }),
      homeFolder: '/Users/pat',
    })
    expect(volumes.map(v => [v.path, v.kind, v.readOnly])).toEqual([
      ['/', 'system', true],
      ['/Volumes/CLUB CARD', 'card', false],
      ['/Volumes/TINY', 'radio-internal', true],
      ['/Volumes/share', 'network', false],
      ['/Volumes/Backup', 'not-known', false],
      ['/Volumes/Spare', 'system', false],
    ])
  })
})

describe('volumes of Windows', () => {
  const disk = (DeviceID: string, DriveType: number, more = {}) => ({
    DeviceID,
    DriveType,
    FileSystem: 'FAT32',
    VolumeName: '',
    Size: 8e9,
    FreeSpace: 4e9,
    ...more,
  })
  const kinds = async (list: unknown) =>
    (
      await windowsVolumes({
        logicalDisks: async () => JSON.stringify(list),
        systemDrive: 'C:',
        homeFolder: 'D:\\Users\\pat',
      })
    ).map(v => [v.path, v.kind])

  it('are read from its list of logical disks', async () => {
    expect(
      await kinds([
        disk('C:', 3),
        disk('D:', 2),
        disk('E:', 2, { VolumeName: 'CLUB' }),
        disk('F:', 2, { Size: null, FreeSpace: null }),
        disk('G:', 4),
        disk('H:', 3),
        disk('I:', 2, { Size: 16e6 }),
        { nonsense: true },
      ]),
    ).toEqual([
      ['C:\\', 'system'],
      ['D:\\', 'system'],
      ['E:\\', 'card'],
      ['G:\\', 'network'],
      ['H:\\', 'system'],
      ['I:\\', 'radio-internal'],
    ])
  })
  it('a list of one comes without brackets', async () => {
    expect(await kinds(disk('E:', 2))).toEqual([['E:\\', 'card']])
  })
})

describe('the volume of a path', () => {
  const at = (path: string) => ({ path })
  it('is the deepest above it, and of several on one place the last', () => {
    const volumes = [at('/'), at('/media/a'), at('/media/a/b'), at('/media/a')]
    expect(volumeOf('/media/a/x', volumes)).toBe(volumes[3])
    expect(volumeOf('/media/a/b', volumes)).toBe(volumes[2])
    expect(volumeOf('/media/ab', volumes)).toBe(volumes[0])
    expect(volumeOf('relative', volumes)).toBeUndefined()
    expect(volumeOf('E:\\x', [at('C:\\'), at('E:\\')], '\\')).toEqual(at('E:\\'))
  })
})

it('a refusal says what was looked at and what to do', () => {
  const volume = {
    path: '/net/club',
    kind: 'network',
    why: 'Its file system is nfs4.',
    certain: true,
    fileSystem: 'nfs4',
    readOnly: false,
    totalBytes: 1,
    freeBytes: 1,
    clusterBytes: 1,
  } as const
  expect(refusalOf(volume)).toMatchObject({
    code: 'volume.network',
    message: expect.stringContaining('nfs4'),
  })
  expect(refusalOf({ ...volume, kind: 'card' })).toBeUndefined()
})
