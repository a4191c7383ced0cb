import type { ReceiverType } from '../model/catalogue.ts'
import type { FlashRegion } from './flash.ts'
import type { ReceiverMemory } from './memory.ts'

/**
 * Where a receiver's flash lies in its controller's address space, the one place that says so. The regions lie one
 * behind the other: boot loader, program at the type's address, records. A program that starts where nothing fits
 * before it has the boot loader behind the records instead; one that ends where nothing fits behind it has both before.
 * Pages count from the lowest address, as the chip's own loader counts them.
 */
export interface AddressMap {
  readonly address: number
  readonly bytes: number
  readonly pageBytes: number
  readonly pages: number
  readonly placed: readonly Placed[]
}

export interface Placed {
  readonly region: FlashRegion
  readonly address: number
  readonly firstPage: number
  readonly pages: number
}

/** A stretch of one region. */
export interface Span {
  readonly region: FlashRegion
  readonly offset: number
  readonly bytes: number
}

const END_OF_ADDRESSES = 2 ** 32

/** @returns the map of this receiver's flash */
export function addressMapOf(type: ReceiverType, memory: ReceiverMemory): AddressMap {
  const { boot, program, record } = memory
  const { programAddress } = type.flash
  const orders = [
    [boot, program, record],
    [program, record, boot],
    [record, boot, program],
  ]
  const startOf = (order: FlashRegion[]) => programAddress - bytesOf(order.slice(0, order.indexOf(program)))
  const fits = (order: FlashRegion[]) =>
    startOf(order) >= 0 && startOf(order) + bytesOf(order) <= END_OF_ADDRESSES
  // Program flash is some megabytes at the most, so one of the three always fits.
  const order = orders.find(fits) ?? orders[0]
  return place(order, startOf(order))
}

const bytesOf = (regions: readonly FlashRegion[]): number => regions.reduce((n, r) => n + r.octets.length, 0)

function place(order: readonly FlashRegion[], start: number): AddressMap {
  let address = start
  let firstPage = 0
  const placed = order.map(region => {
    const here = { region, address, firstPage, pages: region.wear.length }
    address += region.octets.length
    firstPage += region.wear.length
    return here
  })
  return { address: start, bytes: address - start, pageBytes: order[0].pageBytes, pages: firstPage, placed }
}

/** @returns where this region lies; undefined when the map does not have it */
export const placeOf = (map: AddressMap, region: FlashRegion): Placed | undefined =>
  map.placed.find(p => p.region === region)

/** @returns the stretches at this address, or undefined when any of it lies outside */
export function spansAt(map: AddressMap, address: number, bytes: number): Span[] | undefined {
  if (address < map.address || address + bytes > map.address + map.bytes) return undefined
  return map.placed.flatMap(({ region, address: start }) => {
    const from = Math.max(address, start)
    const to = Math.min(address + bytes, start + region.octets.length)
    return to > from ? [{ region, offset: from - start, bytes: to - from }] : []
  })
}

/** @returns the region and its own page number, or undefined when the chip has no such page */
export function pageAt(map: AddressMap, page: number): { region: FlashRegion; page: number } | undefined {
  const there = map.placed.find(p => page >= p.firstPage && page < p.firstPage + p.pages)
  return there && { region: there.region, page: page - there.firstPage }
}
