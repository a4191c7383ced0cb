import { sayFamily } from '../../shared/image/uf2.ts'
import type { Uf2Family } from '../../shared/image/uf2-families.ts'
import { Button } from '../ui/Button.tsx'
import { StatusMark, type StatusRole } from '../ui/StatusMark.tsx'
import type { Outcome } from './import-files.ts'
import './library.css'

const words: Readonly<Record<Outcome['got'], { word: string; status: StatusRole }>> = {
  entry: { word: 'taken', status: 'good' },
  duplicate: { word: 'there already', status: 'unknown' },
  problems: { word: 'not taken', status: 'danger' },
  families: { word: 'to choose', status: 'caution' },
  aside: { word: 'left aside', status: 'unknown' },
  stopped: { word: 'not read', status: 'unknown' },
}

export interface ImportResultsProps {
  readonly outcomes: readonly Outcome[]
  /** What was left out of a folder because there is too much of it. */
  readonly bounds: readonly string[]
  readonly onFamilies: (outcome: Outcome, families: readonly Uf2Family[]) => void
  readonly onShow: (id: string) => void
  readonly onClose: () => void
}

const counted = (outcomes: readonly Outcome[]): string =>
  (['entry', 'duplicate', 'families', 'problems', 'aside', 'stopped'] as const)
    .map(got => [outcomes.filter(o => o.got === got).length, words[got].word] as const)
    .filter(([count]) => count > 0)
    .map(([count, word]) => `${count} ${word}`)
    .join(', ')

/** What became of each file, those with problems first. */
export function ImportResults({ outcomes, bounds, onFamilies, onShow, onClose }: ImportResultsProps) {
  if (outcomes.length === 0 && bounds.length === 0) return null
  return (
    <section className="fw-outcomes" aria-label="What became of the files">
      <header>
        <div role="status">
          <h2>
            {outcomes.length === 1 ? 'One file' : `${outcomes.length} files`}: {counted(outcomes)}
          </h2>
          {bounds.map(sentence => (
            <p key={sentence} className="fw-small">
              {sentence}
            </p>
          ))}
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
                {outcome.within !== undefined && <span className="fw-soft"> in {outcome.within}</span>}
                {outcome.words.map(sentence => (
                  <p key={sentence}>{sentence}</p>
                ))}
                {outcome.families !== undefined && <Families outcome={outcome} onFamilies={onFamilies} />}
              </div>
            </li>
          )
        })}
      </ul>
    </section>
  )
}

interface FamiliesProps {
  readonly outcome: Outcome
  readonly onFamilies: ImportResultsProps['onFamilies']
}

const familyWord = (family: Uf2Family): string => (family === null ? 'no family named' : sayFamily(family))

/** One button a family: the number is in the papers of the receiver, or on the page of the download. */
function Families({ outcome, onFamilies }: FamiliesProps) {
  const families = outcome.families ?? []
  return (
    <fieldset className="fw-families" aria-label={`Families in ${outcome.fileName}`}>
      {families.map(family => (
        <Button key={String(family)} onClick={() => onFamilies(outcome, [family])}>
          {familyWord(family)}
        </Button>
      ))}
      <Button kind="quiet" onClick={() => onFamilies(outcome, families)}>
        Take all of them
      </Button>
    </fieldset>
  )
}
