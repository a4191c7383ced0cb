import { describe, expect, it } from 'vitest'
import { summaryOf } from '../../../../renderer/firmware/stage/CheckResult.tsx'
import {
  leftWord,
  progressWords,
  type Sample,
  speedOf,
  withSample,
} from '../../../../renderer/firmware/stage/progress.ts'
import { missingFor } from '../../../../renderer/firmware/stage/settled.ts'
import type { CardCheckReply } from '../../../../shared/api/card.ts'

const steady = (bytesPerSecond: number, seconds: number): readonly Sample[] => {
  let samples: readonly Sample[] = []
  for (let i = 0; i <= seconds * 10; i++)
    samples = withSample(samples, { atMs: i * 100, done: (i * bytesPerSecond) / 10 })
  return samples
}

describe('the speed of a staging', () => {
  it('is that of the last seconds', () => {
    expect(speedOf(steady(50_000, 20))).toBeCloseTo(50_000)
    expect(steady(50_000, 20).length).toBeLessThan(45)
    const slower = [...steady(50_000, 1), { atMs: 5000, done: 50_000 }]
    expect(speedOf(slower)).toBeLessThan(15_000)
  })

  it('is not said while too little was seen, or nothing moved', () => {
    expect(speedOf([])).toBeUndefined()
    expect(speedOf([{ atMs: 0, done: 0 }])).toBeUndefined()
    expect(
      speedOf([
        { atMs: 0, done: 0 },
        { atMs: 100, done: 1e6 },
      ]),
    ).toBeUndefined()
    expect(
      speedOf([
        { atMs: 0, done: 5 },
        { atMs: 1000, done: 5 },
      ]),
    ).toBeUndefined()
  })

  it('gives the time left, but not while the card is busy by itself', () => {
    const samples = steady(10_240, 3)
    const at = { jobId: 'j', done: 30_720, total: 30_720 + 102_400 } as const
    expect(progressWords({ ...at, doing: 'copying' }, samples)).toBe(
      '30 KiB of 130 KiB written and read back, 10 KiB a second, about 10 s left',
    )
    expect(progressWords({ ...at, doing: 'flushing' }, samples)).toBe(
      '30 KiB of 130 KiB written and read back',
    )
    expect([leftWord(1), leftWord(89), leftWord(91)]).toEqual([
      'a few seconds left',
      'about 89 s left',
      'about 2 min left',
    ])
  })
})

describe('what is still missing', () => {
  const all = {
    place: { path: '/a', folderOnly: false },
    fault: undefined,
    planned: { plan: {} as never, problems: [], pending: false },
    settled: {
      place: undefined,
      folder: '',
      cardName: undefined,
      dropOutside: false,
      typedWord: 'word',
      accepted: true,
    },
    alike: { images: [], deed: { position: 1, word: 'word' } },
    cautions: [{ rule: 'image-order', sentence: 'No newer.' }],
  }
  it('is nothing where all is settled, and one thing at a time where it is not', () => {
    expect(missingFor(all)).toBeUndefined()
    const noCaution = { ...all, cautions: [], settled: { ...all.settled, accepted: false } }
    expect(missingFor(noCaution)).toBeUndefined()
    const words = [
      { place: undefined },
      { fault: 'bad' },
      { planned: { ...all.planned, problems: [{ code: 'x', message: 'x' }] } },
      { planned: { ...all.planned, plan: undefined } },
      { settled: { ...all.settled, accepted: false } },
      { settled: { ...all.settled, typedWord: 'wor' } },
    ].map(change => missingFor({ ...all, ...change })?.text)
    expect(words).not.toContain(undefined)
    expect(new Set(words).size).toBe(words.length)
  })
})

describe('what a look at a card comes to', () => {
  const image = (state: CardCheckReply['images'][number]['state'], stale = false) =>
    ({ state, stale: stale ? { kind: 'foreign', text: '' } : undefined }) as never
  it('is bad with a damaged image, a caution with a stale or interrupted one, good otherwise', () => {
    expect(summaryOf({ images: [image('intact')], leftOver: [] })).toEqual({
      kind: 'good',
      text: '1 image: 1 intact.',
    })
    expect(summaryOf({ images: [image('intact', true), image('changed')], leftOver: [] })).toMatchObject({
      kind: 'danger',
      text: expect.stringContaining('2 images: 1 intact, 1 changed.'),
    })
    expect(summaryOf({ images: [image('intact', true)], leftOver: [] }).kind).toBe('caution')
    expect(summaryOf({ images: [image('intact')], leftOver: ['x.part'] }).kind).toBe('caution')
    expect(summaryOf({ images: [image('missing')], leftOver: [] }).kind).toBe('danger')
  })
})
