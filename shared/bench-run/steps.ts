import { PHASES } from '../sim/trace.ts'

/** Phases of a procedure, and what surrounds them: opening the port, and the pause before another attempt. */
export const WRITE_STEPS = ['open', 'pause', ...PHASES] as const
