import { PHASES, phaseWords } from '../sim/trace.ts'

/** Phases of a procedure, and what surrounds them: opening the port, and the pause before another attempt. */
export const WRITE_STEPS = ['open', 'pause', ...PHASES] as const

/** Each as people say it. */
export const writeStepWords: Readonly<Record<(typeof WRITE_STEPS)[number], string>> = {
  ...phaseWords,
  open: 'Open the port',
  pause: 'Pause before another attempt',
}
