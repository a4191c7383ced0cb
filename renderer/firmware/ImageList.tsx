import { type KeyboardEvent, useCallback, useEffect, useRef, useState } from 'react'
import { digestWords } from '../../shared/image/digest.ts'
import type { Bench } from '../../shared/model/bench.ts'
import { isKnown } from '../../shared/model/units.ts'
import { StatusMark } from '../ui/StatusMark.tsx'
import { useDigest } from './digests.ts'
import { kib, type Listed, standingStatus, standingWords, versionWord } from './listed.ts'

const ROW_PX = 96
/** Rows above and below the visible part, so that fast scrolling finds them drawn. */
const SPARE = 4

export interface ImageListProps {
  readonly bench: Bench
  readonly listed: readonly Listed[]
  readonly chosenKey: string | undefined
  readonly onChoose: (key: string) => void
}

const steps: Readonly<Record<string, (at: number, last: number) => number>> = {
  ArrowDown: (at, last) => Math.min(at + 1, last),
  ArrowUp: at => Math.max(at - 1, 0),
  PageDown: (at, last) => Math.min(at + 5, last),
  PageUp: at => Math.max(at - 5, 0),
  Home: () => 0,
  End: (_, last) => last,
}

/** The images as cards, the best first. Only those in sight are on the page, so thousands scroll like ten. */
export function ImageList({ bench, listed, chosenKey, onChoose }: ImageListProps) {
  const box = useRef<HTMLDivElement>(null)
  const [range, setRange] = useState({ first: 0, last: 12 })
  const look = useCallback(() => {
    const shown = box.current
    if (shown === null) return
    const first = Math.max(0, Math.floor(shown.scrollTop / ROW_PX) - SPARE)
    const last = Math.ceil((shown.scrollTop + shown.clientHeight) / ROW_PX) + SPARE
    setRange(before => (before.first === first && before.last === last ? before : { first, last }))
  }, [])
  useEffect(() => {
    if (box.current === null) return
    const observer = new ResizeObserver(look)
    observer.observe(box.current)
    return () => observer.disconnect()
  }, [look])
  const at = listed.findIndex(one => one.key === chosenKey)
  useEffect(() => {
    const shown = box.current
    if (shown === null || at < 0) return
    if (at * ROW_PX < shown.scrollTop) shown.scrollTop = at * ROW_PX
    else if ((at + 1) * ROW_PX > shown.scrollTop + shown.clientHeight)
      shown.scrollTop = (at + 1) * ROW_PX - shown.clientHeight
  }, [at])

  const walk = (event: KeyboardEvent) => {
    const step = steps[event.key]
    if (step === undefined || event.ctrlKey || event.metaKey || event.altKey || listed.length === 0) return
    event.preventDefault()
    onChoose(listed[step(at, listed.length - 1)].key)
  }
  const last = Math.min(listed.length, range.last)
  const first = Math.min(range.first, last)
  const inSight = at >= first && at < last
  return (
    <div
      ref={box}
      className="fw-scroll"
      role="listbox"
      aria-label="Images, the best first"
      aria-activedescendant={inSight ? optionId(at) : undefined}
      tabIndex={0}
      onScroll={look}
      onKeyDown={walk}
    >
      <div className="fw-virtual" role="presentation" style={{ height: listed.length * ROW_PX }}>
        {listed.slice(first, last).map((one, k) => (
          <ImageCard
            key={one.key}
            bench={bench}
            one={one}
            index={first + k}
            count={listed.length}
            isChosen={one.key === chosenKey}
            onChoose={onChoose}
          />
        ))}
      </div>
    </div>
  )
}

const optionId = (index: number) => `fw-image-${index}`

interface ImageCardProps {
  readonly bench: Bench
  readonly one: Listed
  readonly index: number
  readonly count: number
  readonly isChosen: boolean
  readonly onChoose: (key: string) => void
}

export const fromWords = ({ entry }: Listed): string => (entry === undefined ? 'bench' : 'library')

/** The panel says which, and in what they differ. */
function alikeWords({ entry }: Listed) {
  const others = entry?.alike?.length ?? 0
  if (others === 0) return null
  return <span className="fw-card-alike">same program {others === 1 ? 'twice' : `${others + 1} times`}</span>
}

function ImageCard({ bench, one, index, count, isChosen, onChoose }: ImageCardProps) {
  const digest = useDigest(one, bench)
  return (
    // biome-ignore lint/a11y/useKeyWithClickEvents: the list takes the keys for all of its options
    <div
      id={optionId(index)}
      role="option"
      tabIndex={-1}
      aria-selected={isChosen}
      aria-setsize={count}
      aria-posinset={index + 1}
      className="fw-card"
      style={{ top: index * ROW_PX, height: ROW_PX }}
      onClick={() => onChoose(one.key)}
    >
      <div className="fw-card-face">
        <p className="fw-card-name">
          <strong title={one.name}>{one.name}</strong>
          <StatusMark status={standingStatus[one.standing]}>{standingWords[one.standing]}</StatusMark>
        </p>
        <p className="fw-card-line">
          <span className={isKnown(one.facts.version) ? 'fw-version' : 'fw-none'}>
            {versionWord(one.facts)}
            {alikeWords(one)}
          </span>
          <span className={isKnown(one.facts.typeId) ? undefined : 'fw-none'}>{one.typeName}</span>
        </p>
        <p className="fw-card-line fw-small">
          <code>{digest === undefined ? '…' : digestWords(digest)}</code>
          <span>
            {kib(one.facts.sizeBytes)}, {fromWords(one)}
          </span>
        </p>
      </div>
    </div>
  )
}
