import { realpath, stat } from 'node:fs/promises'
import { homedir } from 'node:os'
import { relative, sep } from 'node:path'
import type { Problem, Result } from '../../shared/model/problem.ts'
import { failed, succeeded } from '../../shared/model/problem.ts'
import { errorCode } from '../store/atomic-write.ts'
import { refusalOf, type Volume, volumeOf } from './volume.ts'
import { mountedVolumes } from './volumes.ts'

/** Where images are to go: a volume of its own, or an ordinary folder that stands in for one. */
export interface Target {
  /** Absolute, without symbolic links. */
  readonly root: string
  readonly kind: Volume['kind'] | 'folder'
  /** The volume itself, or the one that the folder lies on. */
  readonly volume: Volume | undefined
}

export interface TargetOptions {
  /** The person says that it is only a folder, whatever volume it is or lies on. */
  readonly folderOnly?: boolean
  readonly volumes?: () => Promise<readonly Volume[]>
  readonly homeFolder?: string
}

/** Where systems keep themselves: nothing of ours goes there, whoever asks. */
const SYSTEM_PLACES =
  /^(\/(bin|boot|dev|efi|etc|lib\d*|proc|sbin|sys|usr|System|Library|Applications)(\/|$)|\/run(?!\/(media|user)\/)(\/|$)|[A-Z]:\\(Windows|Program Files( \(x86\))?|ProgramData)(\\|$))/i
/** Where cards get mounted: a folder here that is no volume is the place of a card that is not in. */
const MOUNT_PLACES = /^\/(media|mnt|run\/media|Volumes)\/./

/**
 * Looks at what a person has named as the place for images.
 * @returns problems `volume.missing`, `volume.not-a-folder`, `volume.system`, `volume.network`, `volume.memory`,
 * `volume.inside`, `volume.not-mounted`
 */
export async function targetAt(given: string, options: TargetOptions = {}): Promise<Result<Target>> {
  const root = await realpath(given).catch((error: unknown) => errorCode(error))
  if (!root.includes(sep)) return failed(missing(given))
  if (!(await stat(root)).isDirectory()) return failed(notAFolder(given))
  const volumes = await (options.volumes ?? mountedVolumes)()
  const volume = volumeOf(root, volumes, sep)
  const problem =
    volume?.path === root
      ? topProblem(volume, options.folderOnly ?? false)
      : folderProblem(root, volume, options)
  if (problem) return failed({ ...problem, file: given })
  const kind = volume?.path === root && !options.folderOnly ? volume.kind : 'folder'
  return succeeded({ root, kind, volume })
}

function topProblem(volume: Volume, folderOnly: boolean): Problem | undefined {
  return folderOnly && volume.kind !== 'system' ? undefined : refusalOf(volume)
}

function folderProblem(
  root: string,
  volume: Volume | undefined,
  { folderOnly = false, homeFolder = homedir() }: TargetOptions,
): Problem | undefined {
  if (SYSTEM_PLACES.test(root) || root === homeFolder || homeFolder.startsWith(root + sep))
    return {
      code: 'volume.system',
      field: 'volume',
      message: `${root} is a place of the system's or your whole home folder, not a card.`,
      remedy: 'Pick the card, or make a folder of its own for this.',
    }
  if (folderOnly) return undefined
  if (volume?.kind === 'network') return refusalOf(volume)
  if (volume && volume.kind !== 'system' && volume.kind !== 'memory')
    return {
      code: 'volume.inside',
      field: 'volume',
      message: `${root} is a folder on the volume ${volume.path}, not a volume.`,
      remedy: `Name the volume, --volume ${volume.path}, and the folder on it, --folder ${relative(volume.path, root)}.`,
    }
  if (!MOUNT_PLACES.test(root)) return undefined
  return {
    code: 'volume.not-mounted',
    field: 'volume',
    message: `No volume is mounted at ${root}: it is an empty place on this computer's own disk.`,
    remedy: 'Put the card in and wait until the desktop shows it. To use the folder as it is: --folder-only.',
  }
}

const missing = (file: string): Problem => ({
  code: 'volume.missing',
  file,
  field: 'volume',
  message: 'There is no such volume or folder.',
  remedy: 'Put the card in, or connect the radio and choose storage on it, and look where it is mounted.',
})

const notAFolder = (file: string): Problem => ({
  code: 'volume.not-a-folder',
  file,
  field: 'volume',
  message: 'This is a file, not a volume or folder.',
  remedy: 'Name the top folder of the card.',
})
