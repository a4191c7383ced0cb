/** What can be wrong with an emulated receiver. Blocks count from 1. */
export type DeviceFault =
  /** It never answers. */
  | { readonly kind: 'silent' }
  /** It falls silent at the first block, and works once it has been entered or left again. */
  | { readonly kind: 'first-attempt' }
  /** It says "again" to this block, this often. */
  | { readonly kind: 'nack'; readonly block: number; readonly times: number }
  /** It falls silent at this block, for good. */
  | { readonly kind: 'stall'; readonly block: number }
  /** It answers this block once with octets that mean nothing. */
  | { readonly kind: 'garbage'; readonly block: number }
  /** One bit of the first block is not taken. */
  | { readonly kind: 'verify-differs' }
  /** Its supply goes while it writes this block; half of it is there. */
  | { readonly kind: 'cut'; readonly block: number }
  /** It names itself another type. */
  | { readonly kind: 'other-identity' }
  /** It says yes to the start and stays in its boot loader. */
  | { readonly kind: 'not-started' }

export const DEVICE_FAULTS = [
  'silent',
  'first-attempt',
  'nack',
  'stall',
  'garbage',
  'verify-differs',
  'cut',
  'other-identity',
  'not-started',
] as const satisfies readonly DeviceFault['kind'][]

/** In words, for lists and the command line. */
export const deviceFaultWords: Readonly<Record<DeviceFault['kind'], string>> = {
  silent: 'does not answer at all',
  'first-attempt': 'the first attempt fails, the second one works',
  nack: 'turns a block down',
  stall: 'falls silent at a block',
  garbage: 'answers a block with rubbish',
  'verify-differs': 'does not take one bit',
  cut: 'loses its supply at a block',
  'other-identity': 'is another type',
  'not-started': 'does not start what was written',
}
