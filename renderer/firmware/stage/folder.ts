import { checkCardPath } from '../../../shared/card/names.ts'

/** `/IMAGES/new/` as it is meant: `IMAGES/new`. Back strokes are left alone, for they are refused in names. */
export const trimFolder = (typed: string): string => typed.trim().replace(/^\/+|\/+$/g, '')

/**
 * What is wrong with a folder as far as it is typed, in one sentence with its remedy.
 * @returns undefined for a good one, and for none: the top of the card
 */
export function folderError(typed: string): string | undefined {
  const folder = trimFolder(typed)
  if (folder === '') return undefined
  const [problem] = checkCardPath(folder)
  if (problem === undefined) return undefined
  return [problem.message, problem.expected && `Expected: ${problem.expected}.`, problem.remedy]
    .filter(Boolean)
    .join(' ')
}
