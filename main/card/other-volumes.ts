import { z } from 'zod'
import { internalOrCard, sizesOf, type Volume, type VolumeSize, volumeOf } from './volume.ts'

/** Volumes of macOS and Windows, as far as one command of each tells. Neither could be tried on such a machine. */

export interface MacSources {
  /** What `mount` prints. */
  mounts(): Promise<string>
  statfs(path: string): Promise<VolumeSize | undefined>
  readonly homeFolder: string
}

const NO_SIZE: VolumeSize = { bsize: 1, blocks: 0, bavail: 0 }
const MAC_NETWORK = /^(smbfs|nfs|afpfs|webdav|ftp)$/
const MAC_CARD = /^(msdos|exfat)$/

/** `/dev/disk4s1 on /Volumes/CARD (msdos, local, nodev, nosuid, noowners)`, one line a mount. */
export async function macVolumes(sources: MacSources): Promise<readonly Volume[]> {
  const mounts = (await sources.mounts()).split('\n').flatMap(line => {
    const found = /^(.+?) on (\/.*) \(([^()]+)\)$/.exec(line)
    if (found === null) return []
    const [, source, path, inBrackets] = found
    const [fileSystem, ...options] = inBrackets.split(', ')
    return [{ source, path, fileSystem, options, disk: /^\/dev\/(disk\d+)/.exec(source)?.[1] }]
  })
  const own = [mounts.find(m => m.path === '/'), volumeOf(sources.homeFolder, mounts)]
  const ownDisks = new Set(own.map(mount => mount?.disk))
  const volumes = await Promise.all(
    mounts
      .filter(m => m.path === '/' || m.path.startsWith('/Volumes/'))
      .map(async (mount): Promise<Volume[]> => {
        const { path, fileSystem, options, disk } = mount
        // A network drive that is gone lets whoever asks it wait for ever; it is refused whatever its size.
        const size = MAC_NETWORK.test(fileSystem) ? NO_SIZE : await sources.statfs(path)
        if (size === undefined) return []
        const readOnly = options.includes('read-only')
        const kind = macKind(fileSystem, path === '/' || ownDisks.has(disk), sizesOf(size).totalBytes)
        return [{ path, ...kind, fileSystem, readOnly, label: path.split('/').at(-1), ...sizesOf(size) }]
      }),
  )
  return volumes.flat()
}

function macKind(fileSystem: string, own: boolean, bytes: number): Pick<Volume, 'kind' | 'why' | 'certain'> {
  if (MAC_NETWORK.test(fileSystem))
    return { kind: 'network', certain: true, why: `Its file system is ${fileSystem}.` }
  if (own)
    return {
      kind: 'system',
      certain: true,
      why: 'It is on the disk of the running system or of your home folder.',
    }
  if (MAC_CARD.test(fileSystem)) {
    const told = internalOrCard({ totalBytes: bytes, besides: [] })
    return told.kind === 'card'
      ? { ...told, certain: false, why: 'Its file system is that of memory cards.' }
      : told
  }
  return { kind: 'not-known', certain: false, why: `Its file system is ${fileSystem}; cards have another.` }
}

export interface WindowsSources {
  /** What Windows' own list of logical disks says, as JSON: see WINDOWS_QUERY. */
  logicalDisks(): Promise<string>
  readonly systemDrive: string
  readonly homeFolder: string
}

/** For PowerShell. DriveType: 2 removable, 3 fixed, 4 network, 5 disc, 6 memory (Win32_LogicalDisk). */
export const WINDOWS_QUERY =
  '@(Get-CimInstance Win32_LogicalDisk | Select-Object DeviceID,DriveType,FileSystem,VolumeName,Size,FreeSpace) | ConvertTo-Json -Compress'

const numberOrNull = z.number().nullish()
const logicalDiskSchema = z.object({
  DeviceID: z.string().regex(/^[A-Z]:$/i),
  DriveType: z.number(),
  FileSystem: z.string().nullish(),
  VolumeName: z.string().nullish(),
  Size: numberOrNull,
  FreeSpace: numberOrNull,
})
/** Windows does not tell it in this list; cards of 4 to 32 GB are made with 32 KiB at the most. */
const ASSUMED_CLUSTER_BYTES = 32 * 1024

export async function windowsVolumes(sources: WindowsSources): Promise<readonly Volume[]> {
  const listed: unknown = JSON.parse((await sources.logicalDisks()) || '[]')
  const disks = z.array(z.unknown()).parse(Array.isArray(listed) ? listed : [listed])
  return disks.flatMap((raw): Volume[] => {
    const parsed = logicalDiskSchema.safeParse(raw)
    // A reader without a card has a letter and no size.
    if (!parsed.success || !parsed.data.Size) return []
    const { DeviceID, DriveType, FileSystem, VolumeName, Size, FreeSpace } = parsed.data
    const own = [sources.systemDrive, sources.homeFolder.slice(0, 2)].some(
      drive => drive.toUpperCase() === DeviceID.toUpperCase(),
    )
    return [
      {
        path: `${DeviceID}\\`,
        ...windowsKind(DriveType, own, Size),
        ...(VolumeName ? { label: VolumeName } : {}),
        fileSystem: FileSystem ?? 'not known',
        readOnly: DriveType === 5,
        totalBytes: Size,
        freeBytes: FreeSpace ?? 0,
        clusterBytes: ASSUMED_CLUSTER_BYTES,
      },
    ]
  })
}

function windowsKind(
  driveType: number,
  own: boolean,
  bytes: number,
): Pick<Volume, 'kind' | 'why' | 'certain'> {
  const sure = (kind: Volume['kind'], why: string) => ({ kind, why, certain: true })
  if (own) return sure('system', 'Windows or your home folder is on it.')
  if (driveType === 2) return internalOrCard({ totalBytes: bytes, besides: [] })
  if (driveType === 3)
    return { kind: 'system', certain: false, why: 'Windows calls it a fixed disk, which cards are not.' }
  if (driveType === 4) return sure('network', 'Windows calls it a network drive.')
  if (driveType === 6) return sure('memory', 'Windows calls it a disk in memory.')
  return { kind: 'not-known', certain: false, why: 'Windows does not say what it lies on.' }
}
