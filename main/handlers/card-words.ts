import type { Problem } from '../../shared/model/problem.ts'

/** The command line's remedies name its options; a person at the window has none. */
const remedies: Readonly<Record<string, string>> = {
  'volume.inside': 'Choose that volume in the list, and name the folder on it.',
  'volume.not-mounted': 'Put the card in and wait until the desktop shows it.',
  'volume.missing':
    'Put the card in, or connect the radio and choose storage on it; it then comes into the list.',
  'image.outside':
    'Leave out what lies outside program flash, if you know that it belongs elsewhere; or take another image.',
}

export const windowWords = (problem: Problem): Problem =>
  Object.hasOwn(remedies, problem.code) ? { ...problem, remedy: remedies[problem.code] } : problem
