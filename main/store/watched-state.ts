import { join } from 'node:path'
import { z } from 'zod'
import { problemSchema } from '../../shared/model/problem-schema.ts'
import { writeAtomically } from './atomic-write.ts'
import { readBounded } from './read-file.ts'
import { readJson } from './read-json.ts'

/**
 * Which files of the watched folder have been dealt with, and what somebody should still be told of them. It is kept,
 * so that an image that was removed from the library does not come back at the next start.
 */

const MOST_STATE_BYTES = 4 * 1024 * 1024
const MOST_TOLD = 50

const stateSchema = z.object({
  folder: z.string(),
  /** Length and time of change of each file, by its name. */
  dealtWith: z.record(z.string(), z.string()),
  taken: z.array(z.string()),
  failed: z.array(z.object({ fileName: z.string(), problems: z.array(problemSchema).min(1) })),
})
export type WatchedState = z.infer<typeof stateSchema>

export const emptyState = (folder: string): WatchedState => ({
  folder,
  dealtWith: {},
  taken: [],
  failed: [],
})

/** What was kept of this folder; nothing where it was another one, or cannot be read. */
export async function readWatchedState(dataFolder: string, folder: string): Promise<WatchedState> {
  try {
    const path = join(dataFolder, 'watched.json')
    const octets = await readBounded(path, MOST_STATE_BYTES)
    const parsed = stateSchema.safeParse(readJson(new TextDecoder().decode(octets), path))
    return parsed.success && parsed.data.folder === folder ? parsed.data : emptyState(folder)
  } catch {
    return emptyState(folder)
  }
}

export async function writeWatchedState(dataFolder: string, state: WatchedState): Promise<void> {
  const bounded = { ...state, taken: state.taken.slice(-MOST_TOLD), failed: state.failed.slice(-MOST_TOLD) }
  await writeAtomically(join(dataFolder, 'watched.json'), Buffer.from(`${JSON.stringify(bounded)}\n`))
}
