import { useEffect, useMemo } from 'react'
import type { Session } from '../timeline/session.ts'
import { useCanvas } from '../timeline/use-canvas.ts'
import type { PlaybackClock } from './clock.ts'
import { drawPages } from './draw-flash.ts'
import { FlashPages, isBlankPage, PAGE_STATES, pageStateWords, pagesReached } from './flash-pages.ts'
import { useClockView } from './use-clock.ts'

/** Two records of 1 page each, written in turn. */
const RECORD_PAGES = 2

/** The receiver's flash, a cell a page: what it holds at this moment. */
export function FlashGrid({ session, clock }: { session: Session; clock: PlaybackClock }) {
  const { atNs } = useClockView(clock)
  const regions = useMemo(() => regionsOf(session), [session])
  const { ref, redraw } = useCanvas(pen => {
    for (const pages of regions.drawn) pages.moveTo(clock.atNs)
    drawPages(pen, regions.program, regions.record, regions.boot)
  })
  useEffect(() => clock.onFrame(redraw), [clock, redraw])
  const counts = useMemo(() => {
    regions.counted.moveTo(atNs)
    return regions.counted.count()
  }, [regions, atNs])
  const shown = PAGE_STATES.filter(state => counts[state] > 0)
  const said = shown.map(state => `${counts[state]} ${pageStateWords[state]}`).join(', ')
  const { programBytes, pageBytes } = session.report.receiver
  return (
    <section className="rh-flash" aria-label="Flash of the receiver">
      <p className="rh-flash-head">
        <strong>Program flash</strong>{' '}
        <span className="rh-soft rh-figures">
          {programBytes / 1024} KiB, {programBytes / pageBytes} pages of {pageBytes} octets
        </span>
        <span className="rh-spring" />
        <span className="rh-flash-key">
          {shown.map(state => (
            <span key={state} className="rh-figures">
              <i className={`rh-swatch rh-swatch-${state}`} aria-hidden="true" />
              {counts[state]} {pageStateWords[state]}
            </span>
          ))}
        </span>
      </p>
      <canvas
        ref={ref}
        className="rh-flash-canvas"
        role="img"
        aria-label={`Pages of program flash: ${said}.`}
      />
    </section>
  )
}

function regionsOf({ report, trace, flash }: Session) {
  const { programBytes, pageBytes } = report.receiver
  const blank = (page: number) => isBlankPage(flash, page, pageBytes)
  const make = () => new FlashPages(trace.flash, 'program', programBytes / pageBytes, pageBytes, blank)
  const small = (region: 'record' | 'boot', pages: number) =>
    new FlashPages(trace.flash, region, pages, pageBytes, () => false)
  const program = make()
  const record = small('record', Math.max(RECORD_PAGES, pagesReached(trace.flash, 'record', pageBytes)))
  const boot = small('boot', Math.max(1, pagesReached(trace.flash, 'boot', pageBytes)))
  // The picture follows every frame, the words ten times a second: each has its own place in the log.
  return { program, record, boot, drawn: [program, record, boot], counted: make() }
}
