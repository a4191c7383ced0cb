import { filterListed, listImages, sourcesOf } from '../../renderer/firmware/listed.ts'
import { demoBench } from '../../shared/demo/bench.ts'
import { questionsFor } from '../../shared/fit/ask.ts'
import { rankImages } from '../../shared/fit/rank.ts'
import type { Bench, BuiltImage } from '../../shared/model/bench.ts'
import type { Measured } from './table.ts'

const IMAGES = 5000
const RUNS = 11

/** The demo with thousands of images: versions of what it has, each of another size. */
export function manyImages(count: number): Bench {
  const demo = demoBench()
  const images = Array.from({ length: count }, (_, i): BuiltImage => {
    const one = demo.images[i % demo.images.length]
    const round = Math.floor(i / demo.images.length)
    return {
      ...one,
      id: `${one.id}-${i}`,
      version: `${1 + (round % 6)}.${Math.floor(round / 6) % 40}.${round % 7}`,
      sequenceNumber: i,
      sizeBytes: 60_000 + 8 * i,
    }
  })
  return { ...demo, images }
}

function median(work: () => unknown): number {
  const times = Array.from({ length: RUNS }, () => {
    const started = performance.now()
    work()
    return performance.now() - started
  })
  return times.sort((a, b) => a - b)[Math.floor(RUNS / 2)]
}

const row = (what: string, ms: number, mostMs: number): Measured => ({
  what: `${IMAGES.toLocaleString('en')} images: ${what}, median of ${RUNS}`,
  value: `${ms.toFixed(1)} ms`,
  goal: `under ${mostMs} ms`,
  reached: ms < mostMs,
})

/** What the Firmware view does with a large library: ranks, lists, filters, asks. */
export function benchRanking(): Measured[] {
  const bench = manyImages(IMAGES)
  const type = bench.catalogue.receiverTypes.find(t => t.id === 'aldwick-wren-6')
  if (type === undefined) throw new Error('the demo has no Wren')
  const started = performance.now()
  const sources = sourcesOf(bench, [], type)
  const candidates = sources.map(s => ({ id: s.key, name: s.name, facts: s.facts }))
  const listed = listImages(bench, 'wren-trainer', 'wireless', sources)
  const firstMs = performance.now() - started
  return [
    row('listed for the first time, once', firstMs, 100),
    row(
      'ranking for a receiver',
      median(() => rankImages(bench, 'wren-trainer', 'wireless', candidates)),
      60,
    ),
    row(
      'listing in the Firmware view, ranking included',
      median(() => listImages(bench, 'wren-trainer', 'wireless', sourcesOf(bench, [], type))),
      100,
    ),
    row(
      'filtering by two words',
      median(() => filterListed(listed, { text: 'wren 2.3', typeId: undefined })),
      10,
    ),
    row(
      'finding what to ask next',
      median(() => questionsFor(bench, 'wren-unmarked', 'wireless', candidates)),
      100,
    ),
  ]
}
