import { access, constants, readFile, readlink, realpath, stat } from 'node:fs/promises'
import { userInfo } from 'node:os'

/** Whether a port can be used right now, found out without opening it: opening would move its control lines. */
export type PortState = 'free' | 'in-use' | 'no-permission' | 'absent' | 'not-known'

export interface Access {
  readonly state: PortState
  /** In words for a person. */
  readonly text: string
  /** What can be done about it. */
  readonly remedy?: string
}

export const FREE: Access = { state: 'free', text: 'free' }
export const OURS: Access = { state: 'in-use', text: 'in use by this workbench' }
const BUSY: Access = {
  state: 'in-use',
  text: 'in use by another program',
  remedy: 'Close the program that has it open.',
}
/** A file, or a device of another kind such as /dev/null: it would be opened, and nobody would ever answer. */
const NO_PORT: Access = {
  state: 'absent',
  text: 'not a serial port',
  remedy: 'Choose one from the list of ports.',
}
const ABSENT: Access = {
  state: 'absent',
  text: 'not there',
  remedy: 'Plug the adapter in, or look whether the path is right.',
}
/** Windows and macOS tell it only to whoever opens the port. */
const NOT_KNOWN: Access = { state: 'not-known', text: 'found out when it is opened' }

/** The state of a port of this computer. Never rejects. */
export async function accessTo(path: string, platform = process.platform): Promise<Access> {
  if (platform === 'win32') return NOT_KNOWN
  const real = await realpath(path).catch(() => undefined)
  if (real === undefined) return ABSENT
  const about = await stat(real).catch(() => undefined)
  if (about !== undefined && !about.isCharacterDevice()) return NO_PORT
  if (about !== undefined && platform === 'linux' && !(await isTerminal(about.rdev))) return NO_PORT
  try {
    await access(real, constants.R_OK | constants.W_OK)
  } catch {
    return forbidden(real, platform)
  }
  if (platform !== 'linux') return NOT_KNOWN
  return (await isLocked(real)) || (await isOpen(real)) ? BUSY : FREE
}

/** The kernel lists the drivers of all its terminals, with their numbers; where it lists none, it is not known. */
async function isTerminal(rdev: number): Promise<boolean> {
  const text = await readFile('/proc/tty/drivers', 'utf8').catch(() => '')
  return text.trim() === '' || isSerialNumber(text, deviceNumber(rdev))
}

/** The device number as a major and a minor one, in the bits that the C library puts them into (makedev(3)). */
export const deviceNumber = (rdev: number): { readonly major: number; readonly minor: number } => {
  const number = BigInt(rdev)
  const major = ((number >> 8n) & 0xfffn) | ((number >> 32n) & ~0xfffn)
  const minor = (number & 0xffn) | ((number >> 12n) & ~0xffn)
  return { major: Number(major & 0xffff_ffffn), minor: Number(minor & 0xffff_ffffn) }
}

/**
 * Whether a driver of serial lines, or of a pair of them in software, has the device with this number.
 * @param drivers the text of /proc/tty/drivers (proc(5)): name, node, major, minor or first-last, kind
 */
export function isSerialNumber(drivers: string, device: { major: number; minor: number }): boolean {
  return drivers.split('\n').some(line => {
    const [, major, first, last, kind] = /\s(\d+)\s+(\d+)(?:-(\d+))?\s+(\S+)\s*$/.exec(line) ?? []
    if (kind === undefined || Number(major) !== device.major || /^(system|console)/.test(kind)) return false
    return device.minor >= Number(first) && device.minor <= Number(last ?? first)
  })
}

/** Programs that mean well lock a port (flock), and the kernel lists all locks with the node's number. */
async function isLocked(path: string): Promise<boolean> {
  const [about, locks] = await Promise.all([
    stat(path).catch(() => undefined),
    readFile('/proc/locks', 'utf8').catch(() => ''),
  ])
  return about !== undefined && lockedInodes(locks).has(about.ino)
}

/** The numbers of all files that are locked whole (flock), from the text of /proc/locks. */
export function lockedInodes(locks: string): ReadonlySet<number> {
  const found = new Set<number>()
  for (const line of locks.split('\n')) {
    const inode = /\sFLOCK\s.*\s[0-9a-f]+:[0-9a-f]+:(\d+)\s/.exec(line)?.[1]
    if (inode !== undefined) found.add(Number(inode))
  }
  return found
}

/** Modem programs leave the number of their process in a lock file (Filesystem Hierarchy Standard 3.0, /var/lock). */
async function isOpen(path: string): Promise<boolean> {
  const name = path.slice(path.lastIndexOf('/') + 1)
  const text = await readFile(`/var/lock/LCK..${name}`, 'latin1').catch(() => undefined)
  const pid = Number(text?.trim())
  if (!Number.isInteger(pid) || pid < 1) return false
  return (await readlink(`/proc/${pid}/exe`).catch((e: NodeJS.ErrnoException) => e.code)) !== 'ENOENT'
}

/** What of a device node and a user the advice depends on. */
export interface Standing {
  readonly path: string
  readonly user: string
  /** The group that the port belongs to, where it may use it. */
  readonly group: string | undefined
  /** The user is in that group by now, but this session began before. */
  readonly isMember: boolean
}

async function forbidden(path: string, platform: NodeJS.Platform): Promise<Access> {
  if (platform !== 'linux') return noPermission({ path, user: userName(), group: undefined, isMember: false })
  const [about, groups] = await Promise.all([
    stat(path).catch(() => undefined),
    readFile('/etc/group', 'utf8').catch(() => ''),
  ])
  const user = userName()
  const mayGroup = about !== undefined && (about.mode & 0o060) === 0o060 && about.gid !== 0
  const group = mayGroup ? groupOf(groups, about.gid) : undefined
  return noPermission({ path, user, group: group?.name, isMember: group?.members.includes(user) ?? false })
}

const userName = (): string => {
  try {
    return userInfo().username
  } catch {
    return 'your user'
  }
}

/** A group's name and members, from the text of /etc/group. */
export function groupOf(groups: string, gid: number): { name: string; members: string[] } | undefined {
  for (const line of groups.split('\n')) {
    const [name, , id, members = ''] = line.split(':')
    if (name && id === String(gid)) return { name, members: members.split(',').filter(m => m !== '') }
  }
  return undefined
}

/** No permission, with the way to get it. */
export function noPermission({ path, user, group, isMember }: Standing): Access {
  const text = `you may not use ${path}`
  if (group === undefined)
    return {
      state: 'no-permission',
      text,
      remedy:
        'Only the administrator may use it. Ask whoever looks after this computer to open it to your user.',
    }
  if (isMember)
    return {
      state: 'no-permission',
      text,
      remedy: `Your user is in the group "${group}" already, but not in this session: log out and in again.`,
    }
  return {
    state: 'no-permission',
    text,
    remedy: `It belongs to the group "${group}", in which your user is not. In a terminal: sudo usermod -aG ${group} ${user} (then log out and in again).`,
  }
}
