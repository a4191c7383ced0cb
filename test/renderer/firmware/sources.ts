import { type Listed, listImages, sourcesOf } from '../../../renderer/firmware/listed.ts'
import { demoBench } from '../../../shared/demo/bench.ts'
import { type BuildSpec, buildImage } from '../../../shared/image/build.ts'
import { writeImageCard } from '../../../shared/image/image-card.ts'
import { writeIntelHex } from '../../../shared/image/write-intel-hex.ts'
import { entryOf, type LibraryEntry } from '../../../shared/library/entry.ts'
import type { ReceiverType } from '../../../shared/model/catalogue.ts'

/** Library entries read from files that are built here, and the list that the view makes of them. */

export const bench = demoBench()
export const typeOf = (id: string): ReceiverType => bench.catalogue.receiverTypes.find(t => t.id === id)!
const wren = typeOf('aldwick-wren-6')

export const wrenSpec: BuildSpec = {
  typeId: wren.id,
  typeName: wren.name,
  vendorName: wren.maker,
  version: '2.5.0',
  sequenceNumber: 25,
  generation: 3,
  bands: ['2.4GHz'],
  region: 'lbt',
  hardwareRevisions: ['A', 'B'],
  wirelessCapable: true,
  programAddress: wren.flash.programAddress,
  sizeBytes: 16 * 1024,
  moduleFirmware: '>=4.0.0 <7.0.0',
  releaseNotes: 'For the tests.',
}

/** What a person has on the disk: an Intel HEX file and its image card. */
export function filesOf(spec: BuildSpec): { readonly hex: string; readonly card: string } {
  const { segments, card } = buildImage(spec)
  return { hex: writeIntelHex(segments), card: writeImageCard(card) }
}

export function entryFor(fileName: string, change: Partial<BuildSpec> = {}, withCard = true): LibraryEntry {
  const { hex, card } = filesOf({ ...wrenSpec, ...change })
  const read = entryOf(
    { fileName, octets: new TextEncoder().encode(hex), ...(withCard ? { cardText: card } : {}) },
    '2026-11-25T08:00:00.000Z',
  )
  if (!read.ok) throw new Error(read.problems[0].message)
  return read.value
}

export const listFor = (
  receiverId: string,
  entries: readonly LibraryEntry[],
  route: 'cable' | 'wireless' = 'cable',
): Listed[] => {
  const type = typeOf(bench.receivers.find(r => r.id === receiverId)!.typeId)
  return listImages(bench, receiverId, route, sourcesOf(bench, entries, type))
}
