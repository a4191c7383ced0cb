import { isKnown, type Known } from './units.ts'

/** What of an image is said where it has one line. */
export interface NamedImage {
  readonly name: string
  /** Null where there is nothing to be said of it. */
  readonly version: Known<string> | null
}

/**
 * An image in words: its name, and its version where the name does not say it already. Only a whole version counts:
 * "2.4" is not said by "Wren 6, 2.4.1".
 */
export function imageWords({ name, version }: NamedImage): string {
  if (version === null) return name
  if (!isKnown(version)) return `${name}, version not known`
  return saysIt(name, version) ? name : `${name}, version ${version}`
}

function saysIt(name: string, version: string): boolean {
  for (let at = name.indexOf(version); at >= 0; at = name.indexOf(version, at + 1)) {
    const before = name.slice(0, at)
    const after = name.slice(at + version.length)
    if (!/(\d|\d\.)$/.test(before) && !/^([-+]?[0-9A-Za-z]|\.\d)/.test(after)) return true
  }
  return false
}
