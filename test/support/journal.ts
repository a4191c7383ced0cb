import { onTestFinished } from 'vitest'
import { Journal, type JournalEnv } from '../../main/store/journal.ts'
import { testFolder } from './folder.ts'

/** A clock that goes on by itself, one millisecond a look. */
export function ticking(fromMs = 1_700_000_000_000) {
  let nowMs = fromMs
  return {
    nowMs: () => nowMs++,
    set(ms: number) {
      nowMs = ms
    },
  }
}

/** An empty folder that is gone when the test is. */
export function emptyFolder(): string {
  const folder = testFolder('journal')
  onTestFinished(() => folder.remove())
  return folder.path
}

/** A logbook that is closed and gone when the test is. */
export async function openJournal(folder = emptyFolder(), env: Partial<JournalEnv> = {}): Promise<Journal> {
  const journal = await Journal.open(folder, env)
  onTestFinished(() => {
    try {
      journal.close()
    } catch {
      // The test has closed it.
    }
  })
  return journal
}

let made = 0
/** A new id for a find, the same in each run. */
export const findingId = (): string => `00000000-0000-7000-8000-${(++made).toString(16).padStart(12, '0')}`
