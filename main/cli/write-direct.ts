import type { Chosen } from '../../shared/bench-run/chosen.ts'
import type { DirectPlan } from '../../shared/bench-run/ready.ts'
import { inspectImage } from '../../shared/image/inspect.ts'
import { flatten } from '../../shared/image/segments.ts'
import { imageFile, numberOption } from './choices.ts'
import { bad, need } from './input.ts'
import type { WriteOptions } from './write.ts'
import { baudOption, checkExpected } from './write-mixed.ts'

/** A device that is on no bench: the person answers for what it is, and for the wiring. */

/** Where ST's controllers have their flash; their loaders count pages from here. */
const ST_FLASH = 0x0800_0000
const MOST_PAGES = 4096

/** @throws BadInput where the wiring is not confirmed */
export function confirmedWiring({ confirm }: WriteOptions): void {
  if (confirm === 'wiring') return
  bad({
    code: 'cli.confirm',
    field: '--confirm',
    message:
      'With --direct nobody checks the wiring: a reversed supply or 5 V on a 3.3 V pin destroys the device at once.',
    expected: '--confirm wiring, once you have looked at every wire yourself',
  })
}

/** @throws BadInput where the wiring is not confirmed, or something is not said that the dialect needs */
export async function directPlan(options: WriteOptions, chosen: Chosen): Promise<DirectPlan> {
  confirmedWiring(options)
  if (chosen.kind === 'bus')
    return bad({
      code: 'cli.direct',
      field: '--direct',
      message: 'The Preflash bus needs to know the type of the receiver.',
      remedy: 'Put the receiver on a bench, and name it with --receiver.',
    })
  const expect = expectOption(options.expect)
  const fields = chosen.dialect.identify?.fields ?? []
  checkExpected(
    expect,
    chosen.title,
    fields.map(field => field.name),
  )
  const file = await imageFile(options.image ?? noImage(), options)
  const address = numberOption('--address', options.address)
  const rawAddress = address ?? (chosen.name === 'st-an3155' ? ST_FLASH : 0)
  const image = need(inspectImage(file.octets, file.fileName, { rawAddress }))
  const from = image.lowestAddress
  const octets = flatten(image.segments, from, image.highestAddress + 1 - from)
  const pageBytes = numberOption('--page-bytes', options.pageBytes)
  const pages = pagesFor(chosen, from, octets.length, pageBytes)
  const version = file.declared?.version ?? image.embedded?.version
  return {
    dialect: chosen.dialect,
    baud: baudOption(options.baud),
    image: { octets, name: file.fileName, address: from, version: version ?? null },
    pages,
    echo: echoOption(options.echo),
    backup: chosen.dialect.read ? { address: from, octets: octets.length } : undefined,
    expect,
  }
}

function pagesFor(
  { dialect, name }: Extract<Chosen, { kind: 'data' }>,
  from: number,
  octets: number,
  pageBytes: number | undefined,
): number[] {
  if (dialect.erase?.per !== 'pages') return []
  if (pageBytes === undefined || pageBytes < 16)
    return bad({
      code: 'cli.page-bytes',
      field: '--page-bytes',
      message: `${dialect.title} erases page by page, and how large a page of this device is was not said.`,
      expected: 'the octets of a page, from the data sheet, such as 1024',
    })
  const start = name === 'st-an3155' ? ST_FLASH : from
  const first = Math.floor((from - start) / pageBytes)
  const last = Math.floor((from + octets - 1 - start) / pageBytes)
  if (first < 0 || last - first >= MOST_PAGES)
    return bad({
      code: 'cli.address',
      field: '--address',
      message: 'The image does not lie in the flash of the device, or it has more pages than are possible.',
      expected: `an address from 0x${ST_FLASH.toString(16)} on, and at most ${MOST_PAGES} pages`,
    })
  return Array.from({ length: last - first + 1 }, (_, i) => first + i)
}

const noImage = (): never =>
  bad({ code: 'cli.image', field: '--image', message: 'No image is named.', expected: 'an image file' })

/** `yes` or `no`; undefined where nothing is said. @throws BadInput */
export function echoOption(text: string | undefined): boolean | undefined {
  if (text === undefined) return undefined
  if (text === 'yes' || text === 'no') return text === 'yes'
  return bad({
    code: 'cli.echo',
    field: '--echo',
    message: `"${text}" is not understood.`,
    expected: 'yes or no',
  })
}

/** `FIELD=VALUE`, several times. @throws BadInput */
export function expectOption(texts: readonly string[], field = '--expect'): Record<string, string> {
  return Object.fromEntries(
    texts.map(text => {
      const at = text.indexOf('=')
      return at > 0 && at < text.length - 1
        ? [text.slice(0, at), text.slice(at + 1)]
        : bad({ code: 'cli.pair', field, message: `"${text}" is not understood.`, expected: 'NAME=VALUE' })
    }),
  )
}
