import { internalOrCard, sizesOf, type Volume, type VolumeSize, volumeOf } from './volume.ts'

/** Where Linux tells of its volumes. A test gives its own; see `volumes.ts` for the real ones. */
export interface LinuxSources {
  /** The text of a file, or undefined where it is not there. */
  readText(path: string): Promise<string | undefined>
  /** The path without symbolic links, or undefined where it is not there. */
  realPath(path: string): Promise<string | undefined>
  names(folder: string): Promise<readonly string[]>
  /** Undefined where the volume does not answer. */
  statfs(path: string): Promise<VolumeSize | undefined>
  readonly homeFolder: string
}

export interface Mount {
  readonly device: string
  readonly path: string
  readonly options: readonly string[]
  readonly fileSystem: string
  readonly source: string
}

/** `\040` and its like, as the kernel writes spaces, tabs, line ends and backslashes. */
const unescapeOctal = (text: string) =>
  text.replaceAll(/\\([0-7]{3})/g, (_, digits) => String.fromCharCode(Number.parseInt(digits, 8)))

/**
 * The mounts of /proc/self/mountinfo, in its order. Format: Linux, Documentation/filesystems/proc.rst, section 3.5.
 * Lines that are not of this format are left out.
 */
export function readMountInfo(text: string): Mount[] {
  return text.split('\n').flatMap(line => {
    const [before, after] = line.split(' - ')
    const [, , device, , path, options] = before.split(' ')
    const [fileSystem, source, superOptions = ''] = (after ?? '').split(' ')
    if (path === undefined || source === undefined || !/^\d+:\d+$/.test(device)) return []
    return [
      {
        device,
        path: unescapeOctal(path),
        options: [...options.split(','), ...superOptions.split(',')],
        fileSystem,
        source: unescapeOctal(source),
      },
    ]
  })
}

const NETWORK =
  /^(nfs4?|cifs|smb3?|smbfs|9p|afs|ceph|glusterfs|fuse\.(sshfs|rclone|davfs2?|s3fs|gvfsd-fuse)|davfs|virtiofs)$/
const MEMORY = /^(tmpfs|ramfs)$/
/** Mounts that hold the running system; a volume of these is the system's whatever it lies on. */
const SYSTEM_PATHS = /^\/(|boot(\/.*)?|efi|usr|var(\/.*)?|etc|opt|root|home|srv|nix(\/.*)?|snap(\/.*)?)$/

/** What /sys says of the disk that a volume lies on. */
interface Disk {
  readonly names: readonly string[]
  readonly removable: boolean
  readonly loop: boolean
  /** The USB device's place in /sys, where it is one. */
  readonly usb?: string
}

const NO_SIZE: VolumeSize = { bsize: 1, blocks: 0, bavail: 0 }

/** The mounted volumes that lie on devices, in memory or on a network; not the kernel's own. */
export async function linuxVolumes(sources: LinuxSources): Promise<readonly Volume[]> {
  const mounts = readMountInfo((await sources.readText('/proc/self/mountinfo')) ?? '')
  const seen = new Map<string, Mount>()
  // A later mount on the same place hides the earlier one.
  for (const mount of mounts) seen.set(mount.path, mount)
  const real = [...seen.values()].filter(
    ({ source, fileSystem }) => source.startsWith('/') || NETWORK.test(fileSystem) || MEMORY.test(fileSystem),
  )
  const onSystem = await systemDisks(real, sources)
  const looked = await Promise.all(
    real.map(async mount => ({
      mount,
      // Network drives are refused whatever their size, and one that is gone lets whoever asks it wait for ever.
      size: NETWORK.test(mount.fileSystem) ? NO_SIZE : await sources.statfs(mount.path),
      disk: await diskOf(mount, sources),
    })),
  )
  return Promise.all(
    looked.flatMap(({ mount, size, disk }) => {
      if (size === undefined) return []
      const besides = looked
        .filter(
          o => o.disk?.names[0] !== disk?.names[0] && o.disk?.usb !== undefined && o.disk.usb === disk?.usb,
        )
        .map(o => (o.size ? sizesOf(o.size).totalBytes : 0))
      return [
        volumeFrom(mount, size, kindOf(mount, disk, onSystem, sizesOf(size).totalBytes, besides), sources),
      ]
    }),
  )
}

async function volumeFrom(
  mount: Mount,
  size: VolumeSize,
  kind: Pick<Volume, 'kind' | 'why' | 'certain'>,
  sources: LinuxSources,
): Promise<Volume> {
  const label = await labelOf(mount.source, sources)
  return {
    path: mount.path,
    ...kind,
    ...(label === undefined ? {} : { label }),
    fileSystem: mount.fileSystem,
    readOnly: mount.options.includes('ro'),
    ...sizesOf(size),
  }
}

/** The names of the disks under `/`, under the home folder and under everything else that the system runs from. */
async function systemDisks(mounts: readonly Mount[], sources: LinuxSources): Promise<ReadonlySet<string>> {
  const home = volumeOf(sources.homeFolder, mounts)
  const own = mounts.filter(mount => SYSTEM_PATHS.test(mount.path) || mount === home)
  const disks = await Promise.all(own.map(mount => diskOf(mount, sources)))
  return new Set(disks.flatMap(disk => (disk && !disk.loop ? disk.names : [])))
}

function kindOf(
  mount: Mount,
  disk: Disk | undefined,
  onSystem: ReadonlySet<string>,
  totalBytes: number,
  besides: readonly number[],
): Pick<Volume, 'kind' | 'why' | 'certain'> {
  const sure = (kind: Volume['kind'], why: string) => ({ kind, why, certain: true })
  if (NETWORK.test(mount.fileSystem)) return sure('network', `Its file system is ${mount.fileSystem}.`)
  if (SYSTEM_PATHS.test(mount.path)) return sure('system', 'The running system uses it.')
  if (MEMORY.test(mount.fileSystem)) return sure('memory', `Its file system is ${mount.fileSystem}.`)
  if (disk === undefined)
    return { kind: 'not-known', certain: false, why: 'The system does not say what it lies on.' }
  if (disk.names.some(name => onSystem.has(name)))
    return sure('system', 'It is on the disk of the running system or of your home folder.')
  if (disk.loop) return sure('image-file', 'It is a file that is mounted as a volume.')
  if (disk.removable) return internalOrCard({ totalBytes, besides })
  if (disk.usb !== undefined)
    return sure('external-disk', 'It is on a USB disk that does not call itself removable.')
  return sure('system', 'It is on a disk that is built into this computer.')
}

/** The disk under a mount, through partitions and through what is laid over disks. */
async function diskOf(mount: Mount, sources: LinuxSources): Promise<Disk | undefined> {
  // btrfs and its like have device numbers of their own; there the source names the device.
  const byNumber = mount.device.startsWith('0:')
    ? undefined
    : await sources.realPath(`/sys/dev/block/${mount.device}`)
  const device = await sources.realPath(mount.source)
  const place =
    byNumber ?? (device && (await sources.realPath(`/sys/class/block/${device.split('/').at(-1)}`)))
  return place === undefined ? undefined : diskAt(place, sources, 0)
}

const MOST_LAYERS = 8

async function diskAt(place: string, sources: LinuxSources, depth: number): Promise<Disk | undefined> {
  if (depth > MOST_LAYERS) return undefined
  if ((await sources.readText(`${place}/partition`)) !== undefined)
    return diskAt(place.slice(0, place.lastIndexOf('/')), sources, depth + 1)
  const name = place.split('/').at(-1) ?? ''
  const under = await Promise.all(
    (await sources.names(`${place}/slaves`)).map(async slave => {
      const real = await sources.realPath(`${place}/slaves/${slave}`)
      return real === undefined ? undefined : diskAt(real, sources, depth + 1)
    }),
  )
  const disks = under.filter(disk => disk !== undefined)
  if (disks.length > 0)
    return {
      names: [name, ...disks.flatMap(disk => disk.names)],
      removable: disks.every(disk => disk.removable),
      loop: disks.every(disk => disk.loop),
      usb: disks[0].usb,
    }
  const removable = (await sources.readText(`${place}/removable`))?.trim() === '1'
  // Slots on a memory-card bus do not set the mark; a soldered chip there is of the type MMC.
  const slotCard = (await sources.readText(`${place}/device/type`))?.trim() === 'SD'
  return {
    names: [name],
    removable: removable || slotCard,
    loop: /^loop\d+$/.test(name),
    usb: /^(.*\/usb\d+\/.*?\d+-[\d.]+)\/\d+-[\d.]+:/.exec(place)?.[1],
  }
}

/** udev keeps labels as names of links, with what is not plain written `\x20`. */
async function labelOf(source: string, sources: LinuxSources): Promise<string | undefined> {
  if (!source.startsWith('/')) return undefined
  const device = await sources.realPath(source)
  for (const name of await sources.names('/dev/disk/by-label'))
    if (device !== undefined && (await sources.realPath(`/dev/disk/by-label/${name}`)) === device)
      return name.replaceAll(/\\x([0-9a-f]{2})/g, (_, digits) =>
        String.fromCharCode(Number.parseInt(digits, 16)),
      )
  return undefined
}
