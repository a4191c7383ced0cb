import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { type LinuxSources, linuxVolumes, readMountInfo } from '../../main/card/linux-volumes.ts'
import { refusalOf } from '../../main/card/volume.ts'
import { mountedVolumes } from '../../main/card/volumes.ts'

const MIB = 1024 * 1024
const USB = '/sys/devices/pci0000:00/0000:00:14.0/usb1/1-2/1-2.3'

/** A machine made of text: links, files and sizes, by path. */
interface Machine {
  readonly mounts: readonly string[]
  readonly links?: Readonly<Record<string, string>>
  readonly files?: Readonly<Record<string, string>>
  readonly bytes?: Readonly<Record<string, number>>
  readonly home?: string
}

function sourcesOf({
  mounts,
  links = {},
  files = {},
  bytes = {},
  home = '/home/pat',
}: Machine): LinuxSources {
  const known = [...Object.keys(links), ...Object.keys(files)]
  return {
    readText: async path => (path === '/proc/self/mountinfo' ? mounts.join('\n') : files[path]),
    realPath: async path =>
      links[path] ?? (path.startsWith('/dev/') && !path.includes('by-') ? path : undefined),
    names: async folder =>
      known
        .filter(path => path.startsWith(`${folder}/`) && !path.slice(folder.length + 1).includes('/'))
        .map(path => path.slice(folder.length + 1)),
    statfs: async path => ({ bsize: 4096, blocks: (bytes[path] ?? 8192 * MIB) / 4096, bavail: 1000 }),
    homeFolder: home,
  }
}
const mount = (device: string, path: string, fs: string, source: string, options = 'rw') =>
  `36 27 ${device} / ${path} ${options},relatime shared:1 - ${fs} ${source} ${options}`

const ROOT = mount('259:2', '/', 'ext4', '/dev/nvme0n1p2')
const rootDisk = {
  '/sys/dev/block/259:2': '/sys/devices/pci/nvme0n1/nvme0n1p2',
}
const rootFiles = {
  '/sys/devices/pci/nvme0n1/nvme0n1p2/partition': '2',
  '/sys/devices/pci/nvme0n1/removable': '0',
}

/** A disk on the USB device, with one partition. */
const usbDisk = (lun: number, name: string, device: string, removable = '1') => ({
  links: {
    [`/sys/dev/block/${device}`]: `${USB}/1-2.3:1.0/host4/target4:0:0/4:0:0:${lun}/block/${name}/${name}1`,
  },
  files: {
    [`${USB}/1-2.3:1.0/host4/target4:0:0/4:0:0:${lun}/block/${name}/${name}1/partition`]: '1',
    [`${USB}/1-2.3:1.0/host4/target4:0:0/4:0:0:${lun}/block/${name}/removable`]: removable,
  },
})

const kinds = async (machine: Machine) =>
  Object.fromEntries((await linuxVolumes(sourcesOf(machine))).map(v => [v.path, v.kind]))

describe('the list of mounts', () => {
  // Linux, Documentation/filesystems/proc.rst, section 3.5: its own example, and octal escapes.
  it('is read as the kernel describes it', () => {
    const [one] = readMountInfo(
      '36 35 98:0 /mnt1 /mnt2 rw,noatime master:1 - ext3 /dev/root rw,errors=continue',
    )
    expect(one).toEqual({
      device: '98:0',
      path: '/mnt2',
      options: ['rw', 'noatime', 'rw', 'errors=continue'],
      fileSystem: 'ext3',
      source: '/dev/root',
    })
    expect(readMountInfo(mount('8:1', '/media/my\\040card\\134x', 'vfat', '/dev/sda1'))[0].path).toBe(
      '/media/my card\\x',
    )
  })
  it('may hold anything without harm', () => {
    fc.assert(fc.property(fc.string(), text => void readMountInfo(text)))
    expect(readMountInfo('\nnonsense\n36 35 98:0')).toEqual([])
  })
})

describe('volumes of Linux', () => {
  it('a card in a reader is a card; the disks of the computer are not', async () => {
    const reader = usbDisk(0, 'sdb', '8:17')
    const machine: Machine = {
      mounts: [
        ROOT,
        mount('259:1', '/boot/efi', 'vfat', '/dev/nvme0n1p1'),
        mount('259:3', '/data', 'ext4', '/dev/nvme0n1p3'),
        mount('8:33', '/archive', 'ext4', '/dev/sdc1'),
        mount('0:40', '/proc', 'proc', 'proc'),
        mount('8:17', '/media/pat/CARD', 'vfat', '/dev/sdb1'),
      ],
      links: {
        ...rootDisk,
        ...reader.links,
        '/sys/dev/block/259:1': '/sys/devices/pci/nvme0n1/nvme0n1p1',
        '/sys/dev/block/259:3': '/sys/devices/pci/nvme0n1/nvme0n1p3',
        '/sys/dev/block/8:33': '/sys/devices/pci/ata1/block/sdc/sdc1',
        '/dev/disk/by-label/MY\\x20CARD': '/dev/sdb1',
      },
      files: {
        ...rootFiles,
        ...reader.files,
        '/sys/devices/pci/nvme0n1/nvme0n1p3/partition': '3',
        '/sys/devices/pci/ata1/block/sdc/sdc1/partition': '1',
      },
    }
    expect(await kinds(machine)).toEqual({
      '/': 'system',
      '/boot/efi': 'system',
      '/data': 'system',
      '/archive': 'system',
      '/media/pat/CARD': 'card',
    })
    const volumes = await linuxVolumes(sourcesOf(machine))
    const card = volumes.find(v => v.kind === 'card')!
    expect(card).toMatchObject({ label: 'MY CARD', clusterBytes: 4096, readOnly: false, certain: true })
    expect(volumes.map(v => refusalOf(v)?.code)).toEqual([...Array(4).fill('volume.system'), undefined])
  })

  it('a computer that runs from a card keeps it: it is the system disk first', async () => {
    const slot = '/sys/devices/platform/mmc_host/mmc0/mmc0:1/block/mmcblk0'
    const machine: Machine = {
      mounts: [
        mount('179:2', '/', 'ext4', '/dev/mmcblk0p2'),
        mount('179:3', '/media/pat/rest', 'ext4', '/dev/mmcblk0p3'),
      ],
      links: { '/sys/dev/block/179:2': `${slot}/mmcblk0p2`, '/sys/dev/block/179:3': `${slot}/mmcblk0p3` },
      files: {
        [`${slot}/mmcblk0p2/partition`]: '2',
        [`${slot}/mmcblk0p3/partition`]: '3',
        [`${slot}/device/type`]: 'SD\n',
      },
    }
    expect(await kinds(machine)).toEqual({ '/': 'system', '/media/pat/rest': 'system' })
  })

  it('a slot on the memory-card bus is told by the type of what is in it', async () => {
    const slot = '/sys/devices/platform/mmc_host/mmc1/mmc1:1/block/mmcblk1'
    const withType = (type: string): Machine => ({
      mounts: [ROOT, mount('179:9', '/media/pat/CARD', 'exfat', '/dev/mmcblk1')],
      links: { ...rootDisk, '/sys/dev/block/179:9': slot },
      files: { ...rootFiles, [`${slot}/device/type`]: `${type}\n`, [`${slot}/removable`]: '0' },
    })
    expect((await kinds(withType('SD')))['/media/pat/CARD']).toBe('card')
    expect((await kinds(withType('MMC')))['/media/pat/CARD']).toBe('system')
  })

  it('of the two volumes of a radio the small one is its own storage; both are called guesses', async () => {
    const [own, card] = [usbDisk(0, 'sdb', '8:17'), usbDisk(1, 'sdc', '8:33')]
    const machine: Machine = {
      mounts: [
        ROOT,
        mount('8:17', '/media/pat/A', 'vfat', '/dev/sdb1'),
        mount('8:33', '/media/pat/B', 'vfat', '/dev/sdc1'),
      ],
      links: { ...rootDisk, ...own.links, ...card.links },
      files: { ...rootFiles, ...own.files, ...card.files },
      bytes: { '/media/pat/A': 16 * MIB, '/media/pat/B': 16_000 * MIB },
    }
    const volumes = await linuxVolumes(sourcesOf(machine))
    expect(volumes.slice(1).map(v => [v.path, v.kind, v.certain])).toEqual([
      ['/media/pat/A', 'radio-internal', false],
      ['/media/pat/B', 'card', false],
    ])
    expect(volumes.slice(1).map(refusalOf)).toEqual([undefined, undefined])
  })

  it('two partitions of one card are not two volumes of a radio', async () => {
    const disk = usbDisk(0, 'sdb', '8:17')
    const place = disk.links['/sys/dev/block/8:17'].replace(/1$/, '2')
    const machine: Machine = {
      mounts: [
        ROOT,
        mount('8:17', '/media/pat/A', 'vfat', '/dev/sdb1'),
        mount('8:18', '/media/pat/B', 'vfat', '/dev/sdb2'),
      ],
      links: { ...rootDisk, ...disk.links, '/sys/dev/block/8:18': place },
      files: { ...rootFiles, ...disk.files, [`${place}/partition`]: '2' },
      bytes: { '/media/pat/A': 64 * MIB, '/media/pat/B': 16_000 * MIB },
    }
    expect(await kinds(machine)).toMatchObject({ '/media/pat/A': 'card', '/media/pat/B': 'card' })
  })

  it('looks through encryption and volume managers to the disks under them', async () => {
    const machine: Machine = {
      mounts: [mount('253:0', '/', 'ext4', '/dev/mapper/root'), mount('8:2', '/spare', 'ext4', '/dev/sda2')],
      links: {
        '/sys/dev/block/253:0': '/sys/devices/virtual/block/dm-0',
        '/sys/devices/virtual/block/dm-0/slaves/sda1': '/sys/devices/pci/ata1/block/sda/sda1',
        '/sys/dev/block/8:2': '/sys/devices/pci/ata1/block/sda/sda2',
      },
      files: {
        '/sys/devices/pci/ata1/block/sda/sda1/partition': '1',
        '/sys/devices/pci/ata1/block/sda/sda2/partition': '2',
        '/sys/devices/pci/ata1/block/sda/removable': '1',
      },
    }
    expect(await kinds(machine)).toEqual({ '/': 'system', '/spare': 'system' })
  })

  it('btrfs, which has numbers of its own, is found by the name of its device', async () => {
    const machine: Machine = {
      mounts: [
        mount('0:31', '/', 'btrfs', '/dev/nvme0n1p2'),
        mount('0:31', '/home', 'btrfs', '/dev/nvme0n1p2'),
        mount('259:3', '/mnt/x', 'ext4', '/dev/nvme0n1p3'),
      ],
      links: {
        '/sys/class/block/nvme0n1p2': '/sys/devices/pci/nvme0n1/nvme0n1p2',
        '/sys/dev/block/259:3': '/sys/devices/pci/nvme0n1/nvme0n1p3',
      },
      files: { ...rootFiles, '/sys/devices/pci/nvme0n1/nvme0n1p3/partition': '3' },
    }
    expect(await kinds(machine)).toEqual({ '/': 'system', '/home': 'system', '/mnt/x': 'system' })
  })

  it('the volume of the home folder is refused wherever it lies', async () => {
    const stick = usbDisk(0, 'sdb', '8:17')
    const machine: Machine = {
      mounts: [ROOT, mount('8:17', '/people', 'ext4', '/dev/sdb1')],
      links: { ...rootDisk, ...stick.links },
      files: { ...rootFiles, ...stick.files },
      home: '/people/pat',
    }
    expect(await kinds(machine)).toEqual({ '/': 'system', '/people': 'system' })
  })

  it('a network drive is refused without being asked for anything: one that is gone never answers', async () => {
    const machine: Machine = {
      mounts: [ROOT, mount('0:50', '/net/club', 'nfs4', 'server:/club')],
      links: rootDisk,
      files: rootFiles,
    }
    const sources = sourcesOf(machine)
    const statfs = (path: string) =>
      path.startsWith('/net') ? new Promise<undefined>(() => {}) : sources.statfs(path)
    const volumes = await linuxVolumes({ ...sources, statfs })
    expect(volumes.map(v => [v.path, v.kind])).toEqual([
      ['/', 'system'],
      ['/net/club', 'network'],
    ])
  })

  it('network, memory, image files and USB disks are told apart', async () => {
    const disk = usbDisk(0, 'sdb', '8:17', '0')
    const machine: Machine = {
      mounts: [
        ROOT,
        mount('0:50', '/net/club', 'cifs', '//server/club'),
        mount('0:51', '/net/nfs', 'nfs4', 'server:/club'),
        mount('0:52', '/net/ssh', 'fuse.sshfs', 'pat@server:'),
        mount('0:53', '/tmp', 'tmpfs', 'tmpfs'),
        mount('7:0', '/mnt/practice', 'vfat', '/dev/loop0', 'ro'),
        mount('8:17', '/media/pat/backup', 'ext4', '/dev/sdb1'),
        mount('0:54', '/mnt/odd', 'fuseblk', '/dev/odd'),
      ],
      links: { ...rootDisk, ...disk.links, '/sys/dev/block/7:0': '/sys/devices/virtual/block/loop0' },
      files: { ...rootFiles, ...disk.files },
    }
    expect(await kinds(machine)).toEqual({
      '/': 'system',
      '/net/club': 'network',
      '/net/nfs': 'network',
      '/net/ssh': 'network',
      '/tmp': 'memory',
      '/mnt/practice': 'image-file',
      '/media/pat/backup': 'external-disk',
      '/mnt/odd': 'not-known',
    })
    const practice = (await linuxVolumes(sourcesOf(machine))).find(v => v.path === '/mnt/practice')
    expect(practice?.readOnly).toBe(true)
  })
})

// Under an overlay without a device, as in some containers, the top is not among the volumes.
const top = process.platform === 'linux' ? (await mountedVolumes()).find(v => v.path === '/') : undefined
it.runIf(top !== undefined)('on this very machine, the volume of the system is refused', () => {
  expect(refusalOf(top!)?.code).toBe('volume.system')
  expect(top!.totalBytes).toBeGreaterThan(0)
})
