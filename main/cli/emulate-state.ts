import { access, constants, lstat, realpath, stat } from 'node:fs/promises'
import { type Problem, ProblemError } from '../../shared/model/problem.ts'
import type { ReceiverMemory } from '../../shared/sim/memory.ts'
import { mostStateCharacters } from '../../shared/sim/receiver-state.ts'
import { type Keeper, loadKept } from '../serial/kept-receiver.ts'
import { errorCode } from '../store/atomic-write.ts'
import { whyNotWritten } from './file-output.ts'
import { bad, notAnOption } from './input.ts'
import { type PlaceSteps, tryPlace } from './place.ts'

/** The file of `emulate --state`: whether it can be read and kept is looked at before anything is played. */

const FIELD = '--state'

function no(file: string, message: string): never {
  return bad({
    code: 'cli.state',
    field: FIELD,
    ...(file === '' ? {} : { file }),
    message,
    expected: 'a file, or a name that is not there yet, in a folder in which you may write',
    remedy: 'Nothing was played, and nothing was changed. See to this first, or name another file.',
  })
}

/** Where the flash of a receiver is kept. */
export interface StatePlace {
  /** As it was named. */
  readonly named: string
  /** What a link leads to is replaced, not the link. */
  readonly path: string
}

/**
 * @param named undefined where nothing is to be kept
 * @throws BadInput `cli.state` that names the file, where it could not be read or replaced
 */
export async function statePlace(
  named: string | undefined,
  steps?: PlaceSteps,
): Promise<StatePlace | undefined> {
  if (named === undefined) return undefined
  if (named === '') no('', 'The name of the file is empty.')
  notAnOption(named, FIELD, 'the name of a file')
  const path = await pathOf(named)
  await canKeep({ named, path }, 0, steps)
  return { named, path }
}

/** @throws BadInput */
async function pathOf(named: string): Promise<string> {
  try {
    const about = await stat(named).catch(allowingNone)
    if (about?.isDirectory()) return no(named, 'This is a folder, not a file.')
    if (about !== undefined && !about.isFile())
      return no(named, 'This is a pipe, a socket or a device: nothing can be kept in it.')
    if (about === undefined) {
      if (await lstat(named).catch(allowingNone)) no(named, 'This is a link to something that is not there.')
      return named
    }
    await access(named, constants.R_OK)
    return await realpath(named)
  } catch (error) {
    // What was refused above is passed on as it is.
    if (errorCode(error) === '') throw error
    return no(named, `What the receiver holds cannot be kept there: ${whyNotWritten(error)}.`)
  }
}

/**
 * There is room for all that this receiver could come to hold.
 * @throws BadInput `cli.state`
 */
export async function roomForState(
  place: StatePlace | undefined,
  memory: ReceiverMemory,
  steps?: PlaceSteps,
): Promise<void> {
  if (place !== undefined) await canKeep(place, mostStateCharacters(memory), steps)
}

async function canKeep({ named, path }: StatePlace, needBytes: number, steps?: PlaceSteps): Promise<void> {
  try {
    await tryPlace(path, needBytes, steps)
  } catch (error) {
    no(named, `What the receiver holds cannot be kept there: ${whyNotWritten(error)}.`)
  }
}

/** What the receiver held when it was last played, where there is a file of it. @throws ProblemError `state.…` */
export async function keptState(place: StatePlace | undefined) {
  const state = place === undefined ? undefined : await loadKept(place.path)
  return state === undefined ? {} : { state: { ...state, file: place?.named ?? state.file } }
}

/**
 * Saves for the last time.
 * @returns what is to be said where that did not work, as of a disk that has become full meanwhile
 */
export async function lastSave(
  keeper: Pick<Keeper, 'done'>,
  { named, path }: StatePlace,
  memory: ReceiverMemory,
): Promise<Problem | undefined> {
  try {
    await keeper.done()
    return undefined
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error
    const why = await tryPlace(path, mostStateCharacters(memory)).then(() => undefined, whyNotWritten)
    if (why === undefined) return error.problem
    return {
      ...error.problem,
      file: named,
      field: FIELD,
      message: `What the receiver holds now could not be kept: ${why}. What was kept in this file before is as it was.`,
    }
  }
}

function allowingNone(error: unknown): undefined {
  if (errorCode(error) !== 'ENOENT') throw error
}
