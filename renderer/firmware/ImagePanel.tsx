import { useMemo } from 'react'
import { afterwardsFor } from '../../shared/fit/afterwards.ts'
import { situationOf } from '../../shared/fit/situation.ts'
import { digestWords } from '../../shared/image/digest.ts'
import type { LibraryEntry } from '../../shared/library/entry.ts'
import type { Bench } from '../../shared/model/bench.ts'
import type { ReceiverUnit } from '../../shared/model/gear.ts'
import { sayProblem } from '../../shared/model/problem.ts'
import type { Route } from '../../shared/model/units.ts'
import { Button } from '../ui/Button.tsx'
import { Notice } from '../ui/Notice.tsx'
import { StatusMark } from '../ui/StatusMark.tsx'
import { Checklist } from './Checklist.tsx'
import { Comparison } from './Comparison.tsx'
import { digestOf } from './digests.ts'
import { gapsOf, kib, type Listed, type Standing, standingStatus } from './listed.ts'
import { listWord, lookAlikes, regionWord, yesNoWord } from './look-alike.ts'
import { Proof } from './Proof.tsx'

export interface ImagePanelProps {
  readonly bench: Bench
  readonly receiver: ReceiverUnit
  /** Undefined where the type of the receiver is not known. */
  readonly typeName: string | undefined
  readonly chosen: Listed
  readonly all: readonly Listed[]
  readonly onChangeBench: (label: string, next: Bench) => void
  readonly onRoute: (route: Route) => void
  readonly onRehearse: () => void
  readonly onStage: () => void
  readonly onSayWhatFor: () => void
  readonly onRemove: () => void
  readonly entries: readonly LibraryEntry[]
  readonly onKeys: () => void
  readonly onCompareDigest: (sha256: string | null) => Promise<boolean>
}

const panelWords: Readonly<Record<Standing, string>> = {
  fits: 'fits',
  'after-step': 'fits, after a step on the way,',
  'not-known': 'not known whether it fits',
  'does-not-fit': 'does not fit',
}

/** Explains the chosen image: does it fit, what could it be taken for, and what is it. */
export function ImagePanel(props: ImagePanelProps) {
  const { bench, receiver, typeName, chosen, all, onRehearse, onStage } = props
  const { standing, stepFirst } = chosen
  const alike = useMemo(() => lookAlikes(chosen, all, one => digestOf(one, bench)), [chosen, all, bench])
  return (
    <aside className="fw-panel" aria-label="Chosen image">
      <header className="fw-panel-head">
        <div>
          <h2>{chosen.name}</h2>
          <p>
            <StatusMark status={standingStatus[standing]}>{panelWords[standing]}</StatusMark>{' '}
            <span className="fw-soft">{receiver.nickname}</span>
          </p>
        </div>
        {typeName === undefined ? (
          <p className="fw-soft fw-small fw-not-yet">
            Can be rehearsed and put on the card once the type of the receiver is known.
          </p>
        ) : (
          <>
            <Button onClick={onRehearse}>Rehearse with this image</Button>
            <Button kind="primary" onClick={onStage}>
              Put it on the card…
            </Button>
          </>
        )}
      </header>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: it scrolls, so the keyboard has to get to it */}
      <section className="fw-panel-body" tabIndex={0} aria-label="About the chosen image">
        <Gaps {...props} />
        {stepFirst !== undefined && (
          <Notice kind="caution">
            Not straight away. {stepFirst} The version line above shows the steps on the way.
          </Notice>
        )}
        {chosen.entry !== undefined && chosen.entry.problems.length > 0 && (
          <Notice kind="caution">
            {chosen.entry.problems.map(problem => (
              <p key={sayProblem(problem)}>{sayProblem(problem)}</p>
            ))}
          </Notice>
        )}
        {chosen.entry !== undefined && <Proof {...props} entry={chosen.entry} />}
        <Comparison {...props} alike={alike} />
        <Checklist {...props} findings={chosen.ranked.findings} />
        <Afterwards {...props} />
        <About {...props} />
      </section>
    </aside>
  )
}

/** What nobody has said of the image, and the way to say it. */
function Gaps({ chosen, onSayWhatFor }: ImagePanelProps) {
  const { entry } = chosen
  const gaps = gapsOf(chosen.facts)
  if (entry === undefined || (entry.card !== null && gaps.length === 0)) return null
  const words = gaps.length === 0 ? '' : ` Not known: ${gaps.join(', ')}.`
  return (
    <Notice kind="caution">
      {entry.card === null ? 'It came without an image card.' : 'Its image card leaves something open.'}
      {words}
      <p className="fw-remedy">
        <Button onClick={onSayWhatFor}>Say what it is for…</Button>
      </p>
    </Notice>
  )
}

/** What has to be done again before the model flies, of an image that may go in. */
function Afterwards({ bench, receiver, chosen }: ImagePanelProps) {
  if (chosen.standing === 'does-not-fit') return null
  const situation = situationOf(bench, receiver.id, 'cable', chosen.facts)
  if (situation === undefined) return null
  return (
    <section className="fw-about" aria-label="To do again afterwards">
      <h3>To do again afterwards</h3>
      <ul className="fw-afterwards">
        {afterwardsFor(situation).map(text => (
          <li key={text}>{text}</li>
        ))}
      </ul>
    </section>
  )
}

const formatWords: Readonly<Record<string, string>> = {
  raw: 'raw binary',
  'intel-hex': 'Intel HEX',
  's-record': 'Motorola S-record',
  uf2: 'UF2',
}
const cardWords = {
  beside: 'from the file beside it',
  'by-hand': 'filled in by hand',
  nobody: 'none',
} as const

/** The facts, for those who want to see them. */
function About({ bench, chosen, onSayWhatFor, onRemove }: ImagePanelProps) {
  const { entry, facts, built } = chosen
  const digest = digestOf(chosen, bench)
  const rows: [string, string][] = [
    ['Generation', facts.generation === 'unknown' ? 'not known' : String(facts.generation)],
    ['Bands', listWord(facts.bands).replaceAll(/(GHz|MHz)/g, ' $1')],
    ['Region', regionWord(facts.region)],
    ['Hardware revisions', listWord(facts.hardwareRevisions)],
    ['May go by air', yesNoWord(facts.wirelessCapable)],
    ['Length', `${facts.sizeBytes.toLocaleString('en')} octets (${kib(facts.sizeBytes)})`],
    ...(entry
      ? ([
          [
            'File',
            `${formatWords[entry.format] ?? entry.format}, ${entry.fileBytes.toLocaleString('en')} octets`,
          ],
          ['Image card', cardWords[entry.cardFrom]],
          ['Imported', entry.imported.slice(0, 10)],
        ] satisfies [string, string][])
      : []),
    ['Digest words', digest === undefined ? 'not known' : digestWords(digest)],
  ]
  const notes = entry?.card?.notes ?? built?.releaseNotes
  return (
    <section className="fw-about" aria-label="About it">
      <h3>About it</h3>
      {notes && <p>{notes}</p>}
      <dl className="fw-facts">
        {rows.map(([name, value]) => (
          <div key={name}>
            <dt>{name}</dt>
            <dd>{value}</dd>
          </div>
        ))}
        <div>
          <dt>SHA-256</dt>
          <dd>
            <code className="fw-digest">{digest ?? 'not known'}</code>
          </dd>
        </div>
      </dl>
      {entry !== undefined && (
        <p className="fw-tools">
          {entry.card !== null && <Button onClick={onSayWhatFor}>Change its image card…</Button>}
          <Button kind="danger" onClick={onRemove}>
            Remove from the library
          </Button>
        </p>
      )}
    </section>
  )
}
