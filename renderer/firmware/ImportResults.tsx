import { Button } from '../ui/Button.tsx'
import { StatusMark, type StatusRole } from '../ui/StatusMark.tsx'
import type { Outcome } from './import-files.ts'

const words: Readonly<Record<Outcome['got'], { word: string; status: StatusRole }>> = {
  entry: { word: 'taken', status: 'good' },
  duplicate: { word: 'there already', status: 'unknown' },
  problems: { word: 'not taken', status: 'danger' },
}

export interface ImportResultsProps {
  readonly outcomes: readonly Outcome[]
  readonly onShow: (id: string) => void
  readonly onClose: () => void
}

const counted = (outcomes: readonly Outcome[]): string =>
  (['entry', 'duplicate', 'problems'] as const)
    .map(got => [outcomes.filter(o => o.got === got).length, words[got].word] as const)
    .filter(([count]) => count > 0)
    .map(([count, word]) => `${count} ${word}`)
    .join(', ')

/** What became of each file, those with problems first. */
export function ImportResults({ outcomes, onShow, onClose }: ImportResultsProps) {
  if (outcomes.length === 0) return null
  return (
    <section className="fw-outcomes" aria-label="What became of the files">
      <header>
        <div role="status">
          <h2>
            {outcomes.length === 1 ? 'One file' : `${outcomes.length} files`}: {counted(outcomes)}
          </h2>
        </div>
        <Button kind="quiet" onClick={onClose}>
          Close
        </Button>
      </header>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: it scrolls, so the keyboard has to get to it */}
      <ul tabIndex={0} aria-label="Files">
        {outcomes.map((outcome, i) => {
          const { word, status } = words[outcome.got]
          const { id } = outcome
          return (
            // biome-ignore lint/suspicious/noArrayIndexKey: two files may have the same name
            <li key={i}>
              <StatusMark status={status}>{word}</StatusMark>
              <div>
                {id === undefined ? (
                  <strong>{outcome.fileName}</strong>
                ) : (
                  <button type="button" className="fw-link" onClick={() => onShow(id)}>
                    {outcome.fileName}
                  </button>
                )}
                {outcome.words.map(sentence => (
                  <p key={sentence}>{sentence}</p>
                ))}
              </div>
            </li>
          )
        })}
      </ul>
    </section>
  )
}
