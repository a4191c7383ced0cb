import { describe, expect, it } from 'vitest'
import {
  accessTo,
  deviceNumber,
  groupOf,
  isSerialNumber,
  lockedInodes,
  noPermission,
} from '../../main/serial/access.ts'
import { openLocalPort } from '../../main/serial/local-port.ts'
import { needs, titled } from '../support/needs.ts'
import { ptyPair } from '../support/pty.ts'

describe('whether a port can be used', () => {
  it('is read from the kernel’s list of locks', () => {
    // Lines as proc(5), "/proc/locks", describes them.
    const text = [
      '1: POSIX  ADVISORY  READ  5433 08:01:7864448 128 128',
      '2: FLOCK  ADVISORY  WRITE 2001 00:05:1337 0 EOF',
      '2: -> FLOCK ADVISORY WRITE 2002 00:05:1338 0 EOF',
    ].join('\n')
    expect([...lockedInodes(text)]).toEqual([1337, 1338])
    expect([...lockedInodes('rubbish\n\n: FLOCK')]).toEqual([])
  })

  it('is told with the way to get permission: the group, the session, the administrator', () => {
    const standing = { path: '/dev/ttyUSB0', user: 'ann', group: 'dialout', isMember: false }
    expect(noPermission(standing)).toMatchObject({ state: 'no-permission' })
    expect(noPermission(standing).remedy).toContain('sudo usermod -aG dialout ann')
    expect(noPermission({ ...standing, isMember: true }).remedy).toContain('log out and in again')
    expect(noPermission({ ...standing, isMember: true }).remedy).not.toContain('sudo')
    expect(noPermission({ ...standing, group: undefined }).remedy).toContain('administrator')
  })

  it('knows groups and their members by number', () => {
    // group(5)
    const text = 'root:x:0:\ndialout:x:20:ann,bob\nempty:x:21:\nbroken'
    expect(groupOf(text, 20)).toEqual({ name: 'dialout', members: ['ann', 'bob'] })
    expect(groupOf(text, 21)).toEqual({ name: 'empty', members: [] })
    expect(groupOf(text, 99)).toBeUndefined()
  })

  it('is a serial port by its number, as the kernel lists its terminals', () => {
    // Lines in the form that proc(5), "/proc/tty/drivers", has; the numbers are those of the kernel's list of devices,
    // Documentation/admin-guide/devices.txt.
    const text = [
      '/dev/tty             /dev/tty        5       0 system:/dev/tty',
      'serial               /dev/ttyS       4 64-95 serial',
      'usbserial            /dev/ttyUSB   188 0-511 serial',
      'pty_slave            /dev/pts      136 0-1048575 pty:slave',
      'unknown              /dev/tty        4 1-63 console',
    ].join('\n')
    const is = (major: number, minor: number) => isSerialNumber(text, { major, minor })
    expect([is(4, 64), is(4, 95), is(188, 0), is(136, 7)]).toEqual([true, true, true, true])
    // 1, 3 is /dev/null, 1, 7 /dev/full, 5, 0 /dev/tty, 4, 1 the first console.
    expect([is(1, 3), is(1, 7), is(5, 0), is(4, 1), is(4, 96)]).toEqual([false, false, false, false, false])
    expect(isSerialNumber('rubbish', { major: 1, minor: 3 })).toBe(false)
    // makedev(3) of glibc: 8 bits of the minor number lie lowest, 12 of the major above them.
    expect(deviceNumber(0x0103)).toEqual({ major: 1, minor: 3 })
    expect(deviceNumber(0x10_8802)).toEqual({ major: 136, minor: 258 })
  })

  it('is not known beforehand on Windows and macOS', async () => {
    expect(await accessTo('COM3', 'win32')).toMatchObject({ state: 'not-known' })
    expect(await accessTo('/dev/null', 'darwin')).toMatchObject({ state: 'not-known' })
  })

  it('is absent where there is nothing', async () => {
    expect(await accessTo('/dev/no-such-port')).toMatchObject({ state: 'absent' })
  })
})

describe.skipIf(process.platform === 'win32')('a path that is no port', () => {
  it('is not told to be free', async () => {
    for (const path of ['/etc/../etc/passwd', '/'])
      expect(await accessTo(path)).toMatchObject({ state: 'absent', text: 'not a serial port' })
  })
})

const isLinux = process.platform === 'linux'
describe.skipIf(!isLinux)('a device that is no serial port', () => {
  it('is not told to be free', async () => {
    for (const path of ['/dev/null', '/dev/zero', '/dev/full'])
      expect(await accessTo(path)).toMatchObject({ state: 'absent', text: 'not a serial port' })
  })
})

describe.skipIf(!isLinux || needs('socat') === undefined)(titled('a port of this machine', 'socat'), () => {
  it('is free, in use while somebody has it open, and free again', async () => {
    const pair = await ptyPair()
    try {
      expect(await accessTo(pair.a)).toEqual({ state: 'free', text: 'free' })
      const port = await openLocalPort(pair.a, { baud: 9600, parity: 'none', stopBits: 1 })
      expect(await accessTo(pair.a)).toMatchObject({ state: 'in-use' })
      await port.close()
      expect(await accessTo(pair.a)).toMatchObject({ state: 'free' })
    } finally {
      await pair.end()
    }
  })
})
