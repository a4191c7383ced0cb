import { junkOf } from '../card/junk.ts'
import type { Problem } from '../model/problem.ts'

/** What is taken out of a whole folder or an archive, where nobody has chosen each file by itself. */

export const MOST_FOLDER_FILES = 2000
/** Folders within folders. */
export const MOST_FOLDER_DEPTH = 6
/** All files together; more is a disk, not a folder of downloads. */
export const MOST_FOLDER_BYTES = 256 * 1024 * 1024

/** Written while a download is under way, by browsers and others; they rename it when it is whole. Common practice, no source. */
const UNFINISHED = /\.(part|partial|crdownload|download|tmp|temp)$/i

/** Files that are passed over without a word: hidden ones, what desktop systems leave, downloads under way. */
export const isPassedOver = (name: string): boolean =>
  name.startsWith('.') || name.endsWith('~') || UNFINISHED.test(name) || junkOf(name) !== undefined

/** What lies beside images and is meant for people, or for other programs. */
const NO_IMAGE = new Set(['format.text', 'format.document', 'format.program', 'format.unlikely', 'zip.junk'])

/** Whether a file was left out because it is something else, not because something is wrong with it. */
export const isNoImage = (problems: readonly Pick<Problem, 'code'>[]): boolean =>
  problems.length > 0 && problems.every(({ code }) => NO_IMAGE.has(code))

/** Whatever is no known format counts as raw binary, so among many files a raw image needs its name to say so. */
export const isNamedAsImage = (name: string): boolean => /\.(bin|raw|img|rom|fw)$/i.test(name)

export const unlikely = (file: string): Problem => ({
  code: 'format.unlikely',
  file,
  message: 'Its format is not known here, and nothing says what it is for.',
  remedy: 'If it is a raw image, import it by itself.',
})
