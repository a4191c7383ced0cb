import { existsSync } from 'node:fs'
import { delimiter, join } from 'node:path'

/**
 * What some checks need beyond npm: programs and files that Debian packages. A suite that needs one is written
 *
 *   describe.skipIf(needs('srec_cat') === undefined)(titled('against srec_cat', 'srec_cat'), () => …)
 *
 * so that a run without it says in the suite's title what was left out and which package brings it. With
 * PREFLASH_NOTHING_LEFT_OUT=1 in the environment (CI) whatever is missing is an error instead.
 */
const DEBIAN = {
  srec_cat: 'srecord',
  srec_info: 'srecord',
  socat: 'socat',
  chromium: 'chromium',
  'microbit-hex': 'firmware-microbit-micropython',
  'fx2lafw-images': 'sigrok-firmware-fx2lafw',
} as const
export type Need = keyof typeof DEBIAN

/** Not programs: where Debian puts the files. */
const PLACES: Partial<Record<Need, string>> = {
  'microbit-hex': '/usr/share/firmware-microbit-micropython/firmware.hex',
  'fx2lafw-images': '/usr/share/sigrok-firmware',
}

/** The Debian packages that a run with nothing left out needs. */
export const debianPackages: readonly string[] = [...new Set(Object.values(DEBIAN))]

/**
 * @returns the path of the program or file, undefined where this machine does not have it
 * @throws Error instead, where PREFLASH_NOTHING_LEFT_OUT=1
 */
export function needs(need: Need): string | undefined {
  const place = PLACES[need]
  const candidates =
    place === undefined
      ? (process.env.PATH ?? '').split(delimiter).map(directory => join(directory, need))
      : [place]
  const found = candidates.find(path => existsSync(path))
  if (found === undefined && process.env.PREFLASH_NOTHING_LEFT_OUT === '1') throw new Error(missing(need))
  return found
}

const missing = (need: Need): string => `${need} is not here; Debian package ${DEBIAN[need]} brings it`

/** The suite's title, with the reason where it is left out. */
export function titled(title: string, ...list: readonly Need[]): string {
  const absent = list.filter(need => needs(need) === undefined)
  return absent.length === 0 ? title : `${title} (LEFT OUT: ${absent.map(missing).join('; ')})`
}
