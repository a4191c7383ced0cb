import { demoDefaults } from '../../shared/demo/bench.ts'
import { idSchema, type Route, routeSchema, versionSchema } from '../../shared/model/units.ts'
import type { ImageChoice } from '../../shared/rehearse/report.ts'
import { bad, cardBeside, fileNameOf, MAX_IMAGE_FILE_BYTES, readInput } from './input.ts'

/** Choices that several commands take in the same words. */

/** @throws BadInput for anything but the routes there are; the demo's default where nothing is said */
export function routeOption(text: string | undefined): Route {
  const parsed = routeSchema.safeParse(text ?? demoDefaults.route)
  return parsed.success
    ? parsed.data
    : bad({
        code: 'cli.route',
        field: '--route',
        message: `There is no route "${text}".`,
        expected: 'cable or wireless',
      })
}

/** `type=ID,version=X`. @throws BadInput for anything else */
export function declaration(text: string): { typeId?: string; version?: string } {
  const declared: { typeId?: string; version?: string } = {}
  for (const part of text.split(',')) {
    const [key, ...rest] = part.split('=')
    const value = rest.join('=')
    if (key === 'type' && idSchema.safeParse(value).success) declared.typeId = value
    else if (key === 'version' && versionSchema.safeParse(value).success) declared.version = value
    else
      bad({
        code: 'cli.declare',
        field: '--declare',
        message: `"${part}" is not understood.`,
        expected: 'type=ID,version=X with a version such as 2.3.1',
      })
  }
  return declared
}

/** An image file with what is known of it: what was declared, or else the image card beside it. */
export async function imageFile(
  path: string,
  declare: string | undefined,
): Promise<Extract<ImageChoice, { kind: 'file' }>> {
  return {
    kind: 'file',
    fileName: fileNameOf(path),
    octets: await readInput(path, MAX_IMAGE_FILE_BYTES),
    cardText: declare === undefined ? await cardBeside(path) : undefined,
    declared: declare === undefined ? undefined : declaration(declare),
  }
}
