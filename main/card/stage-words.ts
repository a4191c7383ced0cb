import { join } from 'node:path'
import { namesOf } from '../../shared/card/names.ts'
import type { Problem } from '../../shared/model/problem.ts'
import type { StoreFailure } from '../../shared/procedure/effects.ts'
import type { StagingFailed } from '../../shared/procedure/stage.ts'
import { StagingCancelled } from './carry-out.ts'
import type { RealStore } from './real-store.ts'
import type { Target } from './target.ts'

/** What a person is told when staging ends, well or not. */

export const imageDamaged = (file: string): Problem => ({
  code: 'image.damaged',
  file,
  message:
    'The image is not what its image card says: the digest differs, so it is damaged or another image.',
  remedy: 'Get the image again, with the image card that belongs to it.',
})

export const readOnlyVolume = (file: string): Problem => ({
  code: 'volume.read-only',
  file,
  field: 'volume',
  message: 'This volume is read only; nothing was changed.',
  remedy: remedies['read-only'],
})

export const noRoom = (file: string, needBytes: number, freeBytes: number): Problem => ({
  code: 'stage.card-full',
  file,
  message: `There is too little room: ${needBytes} octets are needed, counted in whole clusters, and ${freeBytes} are free.`,
  remedy: remedies.full,
})

const remedies: Readonly<Record<StoreFailure, string>> = {
  absent: 'Put the card in again, wait until the desktop shows it, and stage again.',
  full: 'Delete what is not needed from the card, empty its waste basket, and stage again.',
  'read-only':
    'Slide the lock on the side of the card, or ask for the right to write to it; then stage again.',
  'not-found': 'Somebody else may be changing the card; leave it alone and stage again.',
  'bad-sector':
    'Do not trust this card with firmware any more: copy from it what you need, and use another one.',
  name: 'Choose another folder; names with links or special characters are not followed.',
}

const DIFFERS =
  'Try once more; if it happens again, use another card. Cards that lie about their size behave like this.'

/** What went wrong, what became of the old files, and what to do. */
export function afterFailure(
  error: StagingFailed | StagingCancelled,
  { root }: Target,
  store: RealStore | undefined,
): Problem {
  const state = stateOf(root, store)
  if (error instanceof StagingCancelled)
    return {
      code: 'stage.cancelled',
      file: root,
      message: `Stopped. ${state}`,
      remedy: 'Stage again at any time.',
    }
  const remedy = error.why === undefined ? DIFFERS : remedies[error.why]
  return { code: `stage.${error.code}`, file: root, message: `${error.message} ${state}`, remedy }
}

function stateOf(root: string, store: RealStore | undefined): string {
  const named = store?.named ?? []
  if (named.length > 0)
    return `The new ${namesOf(named[0]).at(-1)} is in place already, but not all that belongs to it: do not use it before it is staged again.`
  const [left] = store?.leftOver ?? []
  if (left === undefined) return 'What was on the card before is as it was.'
  return `What was on the card before is as it was; ${join(root, ...namesOf(left))} may be left on it, and goes when you stage again.`
}

/** When the card may be taken out. */
export function safeToEject({ kind, root }: Target): string {
  if (kind === 'folder')
    return 'This is only a folder on this computer, not a card: copy it to the card, or stage again with the card in.'
  return `Everything is written through. Now eject ${root} on the desktop, wait until it says so, and only then take the card out or the cable off.`
}
