/** What the tests need beside npm's packages, where it is looked for, and what is left out without it. */
import { spawnSync } from 'node:child_process'
import { existsSync } from 'node:fs'
import { delimiter, join } from 'node:path'

/**
 * @typedef {object} Tool
 * @property {string} name a command, or a file's absolute path
 * @property {string} package Debian package that brings it
 * @property {string} for what is left out without it
 */

/** @type {readonly Tool[]} */
export const TOOLS = [
  { name: 'chromium', package: 'chromium', for: 'the tests that drive the workbench in a browser' },
  { name: 'socat', package: 'socat', for: 'the tests over a pair of serial lines' },
  { name: 'srec_cat', package: 'srecord', for: 'the comparison of image files with srecord' },
  { name: 'sx', package: 'lrzsz', for: 'the comparison of XMODEM and YMODEM with lrzsz' },
  { name: 'ser2net', package: 'ser2net', for: 'the tests against a serial server (RFC 2217)' },
  { name: 'mkfs.fat', package: 'dosfstools', for: 'the tests on real card file systems' },
  { name: 'mcopy', package: 'mtools', for: 'the tests that read cards back with mtools' },
  { name: 'clingo', package: 'gringo', for: 'the comparison of plans with an answer-set solver' },
  { name: 'udevadm', package: 'udev', for: 'the list of real serial ports' },
  {
    name: '/usr/share/misc/usb.ids',
    package: 'usb.ids',
    for: 'the comparison of USB adapters with the public list',
  },
  {
    name: '/usr/share/firmware-microbit-micropython/firmware.hex',
    package: 'firmware-microbit-micropython',
    for: 'the rehearsal with a real controller image in Intel HEX',
  },
  {
    name: '/usr/share/sigrok-firmware/fx2lafw-cwav-usbeeax.fw',
    package: 'sigrok-firmware-fx2lafw',
    for: 'the rehearsal with real raw controller images',
  },
]

/**
 * Where a tool is, or undefined. System administration commands count even when they are not on the path.
 * @param {string} name
 * @param {string} [path]
 * @returns {string | undefined}
 */
export function findTool(name, path = process.env.PATH ?? '') {
  if (name.startsWith('/')) return existsSync(name) ? name : undefined
  const folders = [...path.split(delimiter).filter(folder => folder !== ''), '/usr/sbin', '/sbin']
  return folders.map(folder => join(folder, name)).find(file => existsSync(file))
}

/** @param {(name: string) => string | undefined} [find] */
export const missingTools = (find = findTool) => TOOLS.filter(tool => find(tool.name) === undefined)

/** @param {readonly Tool[]} tools */
export const installCommand = tools =>
  `apt-get install -y --no-install-recommends ${[...new Set(tools.map(tool => tool.package))].join(' ')}`

/**
 * Sees to the tools: on Debian as root they are installed, elsewhere the command is named. Returns those that are
 * still missing afterwards, for which suites are left out.
 * @param {(line: string) => void} say
 * @returns {readonly Tool[]}
 */
export function provideTools(say) {
  const missing = missingTools()
  if (missing.length === 0) return []
  const command = installCommand(missing)
  if (!existsSync('/etc/debian_version') || process.getuid?.() !== 0) {
    say(`Some tests need more programs. On Debian: sudo ${command}`)
    return missing
  }
  say(`Installing what the tests need: ${command}`)
  const env = { ...process.env, DEBIAN_FRONTEND: 'noninteractive' }
  const run = spawnSync('sh', ['-c', `apt-get update -qq && ${command} -qq`], { env, encoding: 'utf8' })
  if (run.status !== 0) say(`The installation failed:\n${run.stderr}`)
  return missingTools()
}
