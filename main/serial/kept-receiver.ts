import { readFile, stat } from 'node:fs/promises'
import { ProblemError } from '../../shared/model/problem.ts'
import type { ReceiverMemory } from '../../shared/sim/memory.ts'
import { MOST_STATE_CHARACTERS, writeReceiverState } from '../../shared/sim/receiver-state.ts'
import { errorCode, writeAtomically } from '../store/atomic-write.ts'
import { whyNotKept, whyNotRead } from '../store/disk-words.ts'

/** The flash of an emulated receiver in a file, which is there before and after every moment at which it is replaced. */

/** Often enough that a killed emulator loses little, seldom enough that it does not hold the receiver up. */
const SAVE_AFTER_MS = 300

/**
 * @returns the text of the file; undefined where there is none yet
 * @throws ProblemError `state.unreadable`, `state.size`
 */
export async function loadKept(path: string): Promise<{ text: string; file: string } | undefined> {
  try {
    const about = await stat(path)
    const { size } = about
    // A device such as /dev/full never comes to an end when it is read.
    if (!about.isFile())
      throw new ProblemError({
        code: 'state.unreadable',
        file: path,
        message: 'This is no file in which the flash of an emulated receiver could be kept.',
        remedy: 'Name a file, or a name that is not there yet.',
      })
    if (size > MOST_STATE_CHARACTERS)
      throw new ProblemError({
        code: 'state.size',
        file: path,
        message: 'The file is too large for the flash of an emulated receiver.',
        expected: `at most ${MOST_STATE_CHARACTERS} octets`,
      })
    return { text: await readFile(path, 'utf8'), file: path }
  } catch (error) {
    if (error instanceof ProblemError) throw error
    if (errorCode(error) === 'ENOENT') return undefined
    throw new ProblemError({
      code: 'state.unreadable',
      file: path,
      message: `The file cannot be read: ${whyNotRead(error)}.`,
      remedy: 'Check the name and try again.',
    })
  }
}

/** Saves what a receiver holds a moment after it changed. */
export class Keeper {
  readonly #path: string
  readonly #typeId: string
  readonly #memory: ReceiverMemory
  #timer: NodeJS.Timeout | undefined
  #saving: Promise<void> = Promise.resolve()
  #failure: unknown

  constructor(path: string, typeId: string, memory: ReceiverMemory) {
    this.#path = path
    this.#typeId = typeId
    this.#memory = memory
  }

  changed(): void {
    this.#timer ??= setTimeout(() => {
      this.#timer = undefined
      this.#save()
    }, SAVE_AFTER_MS)
  }

  /** Saves for the last time. @throws ProblemError `state.not-saved` when that, or a save before it, did not work */
  async done(): Promise<void> {
    clearTimeout(this.#timer)
    this.#save()
    await this.#saving
    if (this.#failure === undefined) return
    throw new ProblemError({
      code: 'state.not-saved',
      file: this.#path,
      message: `What the receiver holds could not be kept: ${whyNotKept(this.#failure)}.`,
      remedy: 'Name a file in a folder in which you may write, on a disk that has room.',
    })
  }

  #save(): void {
    this.#saving = this.#saving.then(async () => {
      const text = writeReceiverState(this.#typeId, this.#memory)
      try {
        await writeAtomically(this.#path, new TextEncoder().encode(text))
        this.#failure = undefined
      } catch (error) {
        this.#failure = error
      }
    })
  }
}
