import { inspectImage } from '../../shared/image/inspect.ts'
import { sayAddress } from '../../shared/image/segments.ts'
import { failed, type Result, succeeded } from '../../shared/model/problem.ts'
import { type FileLike, readChosen } from '../rehearse/setup/files.ts'
import type { ImageAnswer } from './answers.ts'

/** Reads and recognises what was chosen or dropped. Problems say what it is instead, and what to do. */
export async function readImageFile(files: readonly FileLike[]): Promise<Result<ImageAnswer>> {
  const chosen = await readChosen(files)
  if (typeof chosen === 'string') return failed({ code: 'new-bench.file', message: chosen })
  const { fileName, octets } = chosen
  const inspected = inspectImage(octets, fileName, { rawAddress: 0 })
  return inspected.ok ? succeeded({ fileName, octets, inspected: inspected.value }) : inspected
}

/** What was recognised, in a line for the person. */
export function sayImage({ inspected }: ImageAnswer): string {
  const octets = `${inspected.payloadBytes.toLocaleString('en')} octets`
  if (inspected.format === 'raw') return `Raw binary, ${octets}. It does not say at which address it begins.`
  return `Intel HEX, ${octets}, from ${sayAddress(inspected.lowestAddress)} to ${sayAddress(inspected.highestAddress)}.`
}
