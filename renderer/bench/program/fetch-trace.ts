import type { TraceSoFar } from '../../../shared/sim/trace-so-far.ts'
import type { ProgramClient } from './client.ts'

/**
 * Fetches what has gone over the line of a lane since it was asked last, piece by piece, and puts it to what there is.
 * @param isWanted asked before each piece; where it is false, what is there is left as it is
 * @returns whether there is anything: nothing before the port is open
 * @throws ProblemError of the connection
 */
export async function fetchTrace(
  client: Pick<ProgramClient, 'call'>,
  lane: string,
  soFar: TraceSoFar,
  isWanted: () => boolean = () => true,
): Promise<boolean> {
  let more = true
  while (more && isWanted()) {
    const { piece } = await client.call('write.trace', { lane, after: soFar.cursor })
    if (piece === null) return false
    more = !soFar.add(piece) || piece.more
  }
  return true
}
