import type { Problem } from '../../shared/model/problem.ts'

/** What is said of a worker that had to be ended, by what it was to do. */
export interface PoolWords {
  readonly broken: Problem
  readonly memory: Problem
  readonly stopped: Problem
  /** @param limitMs how long it may take */
  readonly timeout: (limitMs: number) => Problem
}

/** Of files from outside. */
export const READING: PoolWords = {
  broken: {
    code: 'work.broken',
    message: 'Reading this file broke down; the rest of Preflash is not affected.',
    remedy: 'The file is very unlikely to be sound. Get it again from where it came from.',
  },
  memory: {
    code: 'work.memory',
    message: 'Reading this file would have taken too much memory, so it was given up.',
    remedy: 'The file is very unlikely to be an image. Get it again from where it came from.',
  },
  stopped: { code: 'work.stopped', message: 'It was not read: you stopped the import.' },
  timeout: limitMs => ({
    code: 'work.timeout',
    message: `Reading this file took more than ${limitMs / 1000} s, so it was given up.`,
    remedy:
      'Import it by itself when the computer has less to do; if it takes as long again, get the file anew.',
  }),
}

// Of another write that runs meanwhile this says nothing.
const UNTOUCHED = 'It sent nothing to any receiver'

/** Of rehearsals and diagnoses. */
export const SIMULATING: PoolWords = {
  broken: {
    code: 'work.broken',
    message: `This broke down while it was being worked out. ${UNTOUCHED}; the rest of Preflash goes on.`,
    remedy: 'Try again; if it happens again, please report it with what you did just before.',
  },
  memory: {
    code: 'work.memory',
    message: `Working this out would have taken too much memory, so it was given up. ${UNTOUCHED}.`,
    remedy: 'Try it with a smaller image, or with fewer faults.',
  },
  stopped: { code: 'work.stopped', message: `It was stopped before it was worked out. ${UNTOUCHED}.` },
  timeout: limitMs => ({
    code: 'work.timeout',
    message: `Working this out took more than ${limitMs / 1000} s, so it was given up. ${UNTOUCHED}.`,
    remedy: 'Try again when the computer has less to do.',
  }),
}
