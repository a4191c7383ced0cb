import { type ReactNode, useDeferredValue, useMemo, useState } from 'react'
import type { Bench } from '../../shared/model/bench.ts'
import { ImageList } from './ImageList.tsx'
import { countWords, filterListed, type Listed } from './listed.ts'

interface ImagesProps {
  readonly bench: Bench
  /** Of the receiver, where it is known. */
  readonly typeId: string | undefined
  readonly listed: readonly Listed[]
  readonly chosen: Listed | undefined
  readonly onChoose: (key: string) => void
  /** What belongs below the list. */
  readonly children?: ReactNode
}

/** All images, to be searched and chosen from. */
export function Images({ bench, typeId, listed, chosen, onChoose, children }: ImagesProps) {
  const [text, setText] = useState('')
  const [isOwnOnly, setOwnOnly] = useState(false)
  const typed = useDeferredValue(text)
  const shown = useMemo(
    () => filterListed(listed, { text: typed, typeId: isOwnOnly ? typeId : undefined }),
    [listed, typed, isOwnOnly, typeId],
  )
  return (
    <section className="fw-list" aria-label="Images">
      <div className="fw-list-tools">
        <input
          type="search"
          className="ui-input"
          aria-label="Search the images"
          placeholder="Search name, type, version"
          value={text}
          onChange={e => setText(e.target.value)}
        />
        {typeId !== undefined && (
          <label className="ui-check ui-check-small">
            <input type="checkbox" checked={isOwnOnly} onChange={e => setOwnOnly(e.target.checked)} />
            Only for this type
          </label>
        )}
        <p className="fw-small fw-soft" role="status">
          {shown.length === listed.length ? '' : `${shown.length} of ${listed.length}: `}
          {countWords(shown)}
        </p>
      </div>
      {shown.length > 0 ? (
        <ImageList bench={bench} listed={shown} chosenKey={chosen?.key} onChoose={onChoose} />
      ) : (
        listed.length > 0 && (
          <p className="fw-soft fw-none-found">
            No image has all of these words.{' '}
            <button
              type="button"
              className="fw-link"
              onClick={() => {
                setText('')
                setOwnOnly(false)
              }}
            >
              Show all images
            </button>
          </p>
        )
      )}
      {children}
    </section>
  )
}
