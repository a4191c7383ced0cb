import { readFileSync, writeFileSync } from 'node:fs'
import { pathToFileURL } from 'node:url'
import { setFlagsFromString } from 'node:v8'
import { runInNewContext } from 'node:vm'
import { deflateRawSync } from 'node:zlib'
import { writeIntelHex } from '../../shared/image/write-intel-hex.ts'
import { writeSRecords } from '../../shared/image/write-s-record.ts'
import { writeUf2 } from '../../shared/image/write-uf2.ts'
import { MAX_ZIP_INFLATED_BYTES } from '../../shared/image/zip-directory.ts'
import { MAX_ZIP_ENTRY_BYTES } from '../../shared/image/zip-inflate.ts'
import { chanceOf, emptyTally, type Kind, type Original, originals, readMutant } from '../support/mutants.ts'
import { makeZip } from '../support/zip.ts'

/** How much memory reading takes at its highest, file by file; run as a process of its own by mutations.ts. */

const MIB = 1024 * 1024
export const FILE_BYTES = 4 * MIB

export interface MemoryReport {
  readonly name: string
  readonly fileBytes: number
  readonly reads: number
  readonly images: number
  readonly errors: number
  /** Highest resident memory during all reads above what the process had before the first one. */
  readonly peakMib: number
  readonly slowestMs: number
}

/** Files of 4 MiB: ordinary ones, and ones made to cost as much as they can. */
export function largeFiles(): Original[] {
  const chance = chanceOf(1, 'large')
  const octets = Uint8Array.from({ length: FILE_BYTES }, () => chance(0, 255))
  const cut = (text: string): Uint8Array => new TextEncoder().encode(text).subarray(0, FILE_BYTES)
  const whole = (bytes: number) => [{ address: 0x08000000, octets: octets.subarray(0, bytes) }]
  const apart = (count: number) =>
    Array.from({ length: count }, (_, n) => ({ address: n * 1024, octets: octets.subarray(n, n + 1) }))
  const hex = writeIntelHex(whole(1_450_000))
  // As much as an archive may hold when unpacked.
  const flood = Array.from({ length: MAX_ZIP_INFLATED_BYTES / MAX_ZIP_ENTRY_BYTES }, (_, n) => ({
    name: `${n}.bin`,
    content: new Uint8Array(MAX_ZIP_ENTRY_BYTES),
  }))
  const bomb = deflateRawSync(new Uint8Array(64 * MIB))
  const bombs = Array.from({ length: 30 }, (_, n) => ({
    name: `${n}.bin`,
    content: '',
    packed: bomb,
    bytes: 2 * bomb.length,
  }))
  return [
    { name: 'raw', kind: 'raw', octets },
    { name: 'hex', kind: 'intel-hex', octets: cut(hex) },
    { name: 'hex, cut off', kind: 'intel-hex', octets: cut(writeIntelHex(whole(2_000_000))) },
    {
      name: 'hex, one octet a line',
      kind: 'intel-hex',
      octets: new TextEncoder().encode(writeIntelHex(whole(290_000), { recordOctets: 1 })),
    },
    {
      name: 'hex, 4096 pieces',
      kind: 'intel-hex',
      octets: new TextEncoder().encode(writeIntelHex(apart(4096))),
    },
    {
      name: 'hex, the same line',
      kind: 'intel-hex',
      octets: cut(`${':0300300002337A1E\n'.repeat(230_000)}:00000001FF\n`),
    },
    { name: 's-record', kind: 's-record', octets: cut(writeSRecords(whole(1_450_000))) },
    {
      name: 's-record, one octet a line',
      kind: 's-record',
      octets: cut(writeSRecords(whole(240_000), { recordOctets: 1 })),
    },
    { name: 'uf2', kind: 'uf2', octets: writeUf2(whole(2 * MIB), { md5: true }) },
    {
      name: 'zip of hex',
      kind: 'zip',
      octets: makeZip([0, 1].map(n => ({ name: `${n}.hex`, content: hex }))),
    },
    { name: 'zip of the largest files', kind: 'zip', octets: makeZip(flood) },
    {
      name: 'zip of the longest hex',
      kind: 'zip',
      octets: makeZip([
        {
          name: 'a.hex',
          content: writeIntelHex(whole(700_000), { recordOctets: 1 }).slice(0, MAX_ZIP_ENTRY_BYTES),
        },
      ]),
    },
    { name: 'zip that states too little', kind: 'zip', octets: makeZip(bombs) },
    { name: 'card, deep', kind: 'card', octets: cut('['.repeat(FILE_BYTES)) },
    { name: 'card, deep but allowed', kind: 'card', octets: cut('['.repeat(199_999)) },
  ]
}

setFlagsFromString('--expose-gc')
const collect = runInNewContext('gc') as () => void

const statusKib = (field: string): number =>
  Number(new RegExp(`${field}:\\s+(\\d+)`).exec(readFileSync('/proc/self/status', 'latin1'))?.[1] ?? 0)

/**
 * Reads files of one sort. They come from disk, so that making them leaves no free memory behind that would hide what
 * reading takes. Linux alone.
 */
function measure(name: string, kind: Kind, paths: readonly string[]): MemoryReport {
  const tally = emptyTally()
  for (const file of originals())
    for (let n = 0; n < 20; n++) readMutant(file.kind, file.octets, emptyTally())
  let octets = new Uint8Array(readFileSync(paths[0]))
  collect()
  // proc(5): writing 5 resets the peak.
  writeFileSync('/proc/self/clear_refs', '5')
  const before = statusKib('VmRSS')
  let [slowestMs, fileBytes] = [0, octets.length]
  for (const path of paths) {
    octets = new Uint8Array(0)
    collect()
    octets = new Uint8Array(readFileSync(path))
    fileBytes = Math.max(fileBytes, octets.length)
    const started = performance.now()
    readMutant(kind, octets, tally)
    slowestMs = Math.max(slowestMs, performance.now() - started)
  }
  const peakMib = (statusKib('VmHWM') - before) / 1024
  const { images, errors } = tally
  return { name, fileBytes, reads: paths.length, images, errors, peakMib, slowestMs }
}

if (import.meta.url === pathToFileURL(process.argv[1]).href) {
  const [name, kind, ...paths] = process.argv.slice(2)
  console.log(JSON.stringify(measure(name, kind as Kind, paths)))
}
