import { TOOLS } from '../../main/scripts/tools.mjs'
import { tool } from './tools.ts'

/**
 * Programs and files that Debian packages and that some checks compare with, under short names. A suite that needs
 * one is written
 *
 *   describe.skipIf(needs('srec_cat') === undefined)(titled('against srec_cat', 'srec_cat'), () => …)
 *
 * so that a run without it says in the suite's title what was left out and which package brings it.
 */
const NAMES = {
  srec_cat: 'srec_cat',
  socat: 'socat',
  lrzsz: 'sx',
  ser2net: 'ser2net',
  'usb.ids': '/usr/share/misc/usb.ids',
  'microbit-hex': '/usr/share/firmware-microbit-micropython/firmware.hex',
  'fx2lafw-images': '/usr/share/sigrok-firmware/fx2lafw-cwav-usbeeax.fw',
} as const
export type Need = keyof typeof NAMES

/** The path of the program or file; undefined where this machine does not have it. */
export const needs = (need: Need): string | undefined => tool(NAMES[need])

/** The suite's title, with the reason where it is left out. */
export function titled(title: string, ...list: readonly Need[]): string {
  const reasons = list
    .filter(need => needs(need) === undefined)
    .map(need => `${need} is not here, Debian package ${TOOLS.find(t => t.name === NAMES[need])?.package}`)
  return reasons.length === 0 ? title : `${title} (LEFT OUT: ${reasons.join('; ')})`
}
