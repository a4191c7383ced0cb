import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { FlashPages, isBlankPage, pagesReached } from '../../../../renderer/rehearse/playback/flash-pages.ts'
import { FLASH_OP, TraceRecorder } from '../../../../shared/sim/trace.ts'
import { fixtureTrace } from '../../../support/rehearsal-fixture.ts'

const never = () => false

describe('the pages of flash along the play head', () => {
  it('are erased, filled and written in turn', () => {
    const recorder = new TraceRecorder()
    recorder.flashOp(FLASH_OP.erase, 0, 1024, 10, 20, false)
    recorder.flashOp(FLASH_OP.program, 0, 56, 30, 40, false)
    recorder.flashOp(FLASH_OP.program, 56, 56, 50, 60, true)
    const pages = new FlashPages(recorder.done(100).flash, 'program', 2, 1024, page => page === 1)
    const seen = [5, 15, 25, 35, 45, 55, 65].map(atNs => {
      pages.moveTo(atNs)
      return pages.states[0]
    })
    expect(seen).toEqual(['before', 'erasing', 'erased', 'writing', 'written', 'writing', 'torn'])
    expect(pages.states[1]).toBe('blank')
    expect(pages.writtenBytes[0]).toBe(112)
  })

  it('tell the regions apart', () => {
    const recorder = new TraceRecorder()
    recorder.flashOp(FLASH_OP.recordErase, 1024, 1024, 0, 5, false)
    recorder.flashOp(FLASH_OP.bootErase, 0, 1024, 6, 9, false)
    const { flash } = recorder.done(10)
    const at = (region: 'program' | 'record' | 'boot') => {
      const pages = new FlashPages(flash, region, 2, 1024, never)
      pages.moveTo(10)
      return pages.states
    }
    expect(at('program')).toEqual(['before', 'before'])
    expect(at('record')).toEqual(['before', 'erased'])
    expect(at('boot')).toEqual(['erased', 'before'])
    expect([pagesReached(flash, 'record', 1024), pagesReached(flash, 'boot', 1024)]).toEqual([2, 1])
  })

  it('split a write that crosses from one page into the next', () => {
    const recorder = new TraceRecorder()
    recorder.flashOp(FLASH_OP.program, 1008, 56, 0, 5, false)
    const pages = new FlashPages(recorder.done(10).flash, 'program', 2, 1024, never)
    pages.moveTo(10)
    expect([...pages.writtenBytes]).toEqual([16, 40])
  })

  it('look the same however the play head got there', () => {
    const trace = fixtureTrace({ imageBytes: 4096, cutAt: 0.6 })
    const fresh = (atNs: number) => {
      const pages = new FlashPages(trace.flash, 'program', 8, 1024, never)
      pages.moveTo(atNs)
      return { states: pages.states, written: [...pages.writtenBytes] }
    }
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: 0, max: 1, noNaN: true }), { minLength: 1, maxLength: 12 }),
        shares => {
          const pages = new FlashPages(trace.flash, 'program', 8, 1024, never)
          for (const share of shares) {
            pages.moveTo(share * trace.endNs)
            expect({ states: pages.states, written: [...pages.writtenBytes] }).toEqual(
              fresh(share * trace.endNs),
            )
          }
        },
      ),
    )
  })

  it('are all counted', () => {
    const trace = fixtureTrace({ imageBytes: 4096 })
    const pages = new FlashPages(trace.flash, 'program', 8, 1024, page => page > 4)
    pages.moveTo(trace.endNs)
    expect(pages.count()).toEqual({
      blank: 3,
      before: 1,
      erasing: 0,
      erased: 0,
      writing: 0,
      written: 4,
      torn: 0,
    })
  })
})

it('a page is blank only when every octet of it reads FF', () => {
  const octets = new Uint8Array(2048).fill(0xff)
  octets[2047] = 0xfe
  expect([isBlankPage(octets, 0, 1024), isBlankPage(octets, 1, 1024)]).toEqual([true, false])
})
