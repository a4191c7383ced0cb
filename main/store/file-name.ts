import { failed, type Result, succeeded } from '../../shared/model/problem.ts'

export const BENCH_ENDING = '.preflash.json'

/** File systems count 255 octets or UTF-16 units; this leaves room for the ending in either. */
const MOST_STEM_UNITS = 100
const MOST_NAME_OCTETS = 240

/** Refused in long names by FAT, exFAT and Windows; `\p{C}` is every control, invisible and half character. */
const REFUSED = /["*/:<>?\\|]|\p{C}/u

/** Names that Windows keeps for devices, with any ending, in any case. */
const DEVICE = /^(con|prn|aux|nul|conin\$|conout\$|(com|lpt)[0-9¹²³])$/i

/**
 * Whether a name may be that of a bench file in a folder of ours, on every system that the folder may be carried to.
 * @returns the name in Unicode form C; or a problem `bench.file-name` that says what is wrong with it
 */
export function checkBenchFileName(name: string): Result<string> {
  const normal = name.normalize('NFC')
  const wrong = whatIsWrong(normal)
  if (wrong === undefined) return succeeded(normal)
  return failed({
    code: 'bench.file-name',
    message: wrong,
    field: 'fileName',
    expected: `a plain name such as My bench${BENCH_ENDING}`,
    remedy: 'Choose another name.',
  })
}

function whatIsWrong(name: string): string | undefined {
  if (!name.endsWith(BENCH_ENDING)) return `A bench file's name ends in ${BENCH_ENDING}.`
  const stem = name.slice(0, -BENCH_ENDING.length)
  if (stem === '') return 'The file has no name.'
  if (stem.length > MOST_STEM_UNITS || Buffer.byteLength(name) > MOST_NAME_OCTETS)
    return `The name is too long: at most ${MOST_STEM_UNITS} characters.`
  const refused = REFUSED.exec(stem)?.[0]
  if (refused !== undefined)
    return /\p{C}/u.test(refused)
      ? 'The name contains an invisible character.'
      : `The name contains ${refused}, which no file name may have on every computer.`
  if (stem.startsWith('.')) return 'The name begins with a dot.'
  if (stem !== stem.trim() || stem.endsWith('.'))
    return 'The name begins or ends with a space, or ends with a dot.'
  if (DEVICE.test(stem.split('.')[0].trim())) return `${stem} is a name that Windows keeps for a device.`
  return undefined
}

/** Do two names mean one file where case does not count, as on memory cards, Windows and most Macs? */
export const sameFileName = (a: string, b: string): boolean =>
  a.normalize('NFC').toLowerCase() === b.normalize('NFC').toLowerCase()
