import { type RefObject, useEffect, useState } from 'react'
import type { Diagnosis } from '../../shared/diagnose/report.ts'
import { causeKey } from './Causes.tsx'

/** What the person points at, by pointer or by focus. */
export interface Pointed {
  readonly kind: 'fact' | 'cause'
  readonly id: string
}

export interface Link {
  readonly fact: string
  readonly cause: string
  /** The fact was found not in order, and this cause explains it. */
  readonly explains: boolean
}

/** Which facts each told cause shows in. */
export function linksOf({ facts, causes, shows }: Diagnosis): Link[] {
  const showing = new Set(shows.map(({ cause, fact }) => `${cause} ${fact}`))
  return causes.flatMap(set =>
    facts
      .filter(fact => set.members.some(m => showing.has(`${m.id} ${fact.id}`)))
      .map(fact => ({
        fact: fact.id,
        cause: causeKey(set),
        explains: fact.answer !== null && fact.answer !== 'cannot-check' && fact.answer !== fact.sound,
      })),
  )
}

/** What lights up with what is pointed at. */
export function litBy(links: readonly Link[], pointed: Pointed | undefined): ReadonlySet<string> {
  if (pointed === undefined) return new Set()
  const mine = links.filter(link => link[pointed.kind] === pointed.id)
  return new Set([pointed.id, ...mine.map(link => (pointed.kind === 'fact' ? link.cause : link.fact))])
}

interface Drawn extends Link {
  readonly d: string
  /** Both ends are in sight; else it is drawn only where somebody points at one of them. */
  readonly isSeen: boolean
}

export interface LinesProps {
  readonly board: RefObject<HTMLDivElement | null>
  readonly links: readonly Link[]
  readonly pointed: Pointed | undefined
}

/** Lines between facts and causes, only where the one explains the other; the lists say it all without them. */
export function Lines({ board, links, pointed }: LinesProps) {
  const [drawn, setDrawn] = useState<readonly Drawn[]>([])
  useEffect(() => {
    const at = board.current
    if (at === null) return
    let frame = 0
    const draw = () => setDrawn(measure(at, links))
    const soon = () => {
      cancelAnimationFrame(frame)
      frame = requestAnimationFrame(draw)
    }
    const sizes = new ResizeObserver(soon)
    sizes.observe(at)
    for (const list of at.querySelectorAll('.dg-list')) sizes.observe(list)
    // Scrolling does not bubble.
    at.addEventListener('scroll', soon, true)
    soon()
    return () => {
      cancelAnimationFrame(frame)
      sizes.disconnect()
      at.removeEventListener('scroll', soon, true)
    }
  }, [board, links])
  return (
    <svg className="dg-lines" aria-hidden="true" focusable="false">
      {drawn.map(line => {
        const isLit = pointed !== undefined && line[pointed.kind] === pointed.id
        if (!line.isSeen && !isLit) return null
        return (
          <path
            key={`${line.fact} ${line.cause}`}
            d={line.d}
            className={`${line.explains ? 'dg-line-explains' : ''}${isLit ? ' dg-line-lit' : ''}`}
          />
        )
      })}
    </svg>
  )
}

function measure(board: HTMLElement, links: readonly Link[]): Drawn[] {
  const origin = board.getBoundingClientRect()
  const ends = (kind: 'fact' | 'cause') =>
    new Map(
      [...board.querySelectorAll<HTMLElement>(`[data-${kind}]`)].map(element => {
        const box = element.getBoundingClientRect()
        const y = Math.min(box.top + 20, box.bottom) - origin.top
        const x = (kind === 'fact' ? box.right : box.left) - origin.left
        const inSight = Math.min(origin.height, Math.max(0, y))
        return [element.dataset[kind] ?? '', { x, y: inSight, isSeen: y > 8 && y < origin.height - 8 }]
      }),
    )
  const [facts, causes] = [ends('fact'), ends('cause')]
  return links.flatMap(link => {
    const [from, to] = [facts.get(link.fact), causes.get(link.cause)]
    if (from === undefined || to === undefined) return []
    const bend = (to.x - from.x) / 2
    const d = `M${from.x} ${from.y}C${from.x + bend} ${from.y} ${to.x - bend} ${to.y} ${to.x} ${to.y}`
    return [{ ...link, d, isSeen: from.isSeen && to.isSeen }]
  })
}
