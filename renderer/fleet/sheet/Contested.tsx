import { useId } from 'react'
import type { Bench } from '../../../shared/model/bench.ts'
import { type Compared, type Decision, theirPaths } from '../../../shared/sheet/compare.ts'
import type { Difference } from '../../../shared/sheet/differences.ts'
import { sourceOf } from '../../../shared/sheet/take-sheet.ts'
import type { TypeSheet } from '../../../shared/sheet/type-sheet.ts'
import { kinds } from '../kinds.ts'
import { unitsOf } from './effects.ts'
import { fieldWords, valueWords } from './field-words.ts'

export interface ContestedProps {
  readonly compared: Compared
  readonly decision: Decision
  readonly bench: Bench
  /** The sheet as a bench, so that its references have names. */
  readonly theirBench: Bench
  readonly sheet: TypeSheet
  readonly onDecide: (decision: Decision) => void
}

type Way = 'mine' | 'theirs' | 'fields' | 'both'

function wayOf(decision: Decision, all: readonly string[]): Way {
  if (decision.take === 'as-new') return 'both'
  if (decision.take === 'nothing' || decision.paths.length === 0) return 'mine'
  return all.every(path => decision.paths.includes(path)) ? 'theirs' : 'fields'
}

/** Two descriptions of one thing side by side, field by field, and who is right about each. */
export function Contested(props: ContestedProps) {
  const { compared, decision, bench, sheet, onDecide } = props
  const { key, name, theirs, mine, standing, otherThing } = compared
  const id = useId()
  const all = theirPaths(compared)
  const way = wayOf(decision, all)
  const isGap = standing === 'gap'
  const ways: readonly (readonly [Way, string])[] = isGap
    ? [
        ['theirs', 'Fill in'],
        ['mine', 'Leave as it is'],
      ]
    : [
        ['mine', 'Keep mine'],
        ['theirs', 'Take theirs'],
        ['both', 'Keep both'],
      ]
  const choose = (next: Way) =>
    onDecide(
      next === 'both'
        ? { take: 'as-new' }
        : next === 'mine'
          ? { take: 'nothing' }
          : { take: 'fields', paths: all },
    )
  const chosen = decision.take === 'fields' ? decision.paths : []
  const units = mine ? unitsOf(bench, key.kind, mine.id) : 0
  return (
    <article className="sheet-contested" aria-labelledby={id}>
      <header>
        <h4 id={id}>{name}</h4>
        <p>
          {kinds[key.kind].one}
          {units > 0 && `, ${units} on your bench`}
        </p>
        <fieldset className="sheet-ways">
          <legend className="visually-hidden">{`What to do with ${name}`}</legend>
          {ways.map(([value, word]) => (
            <label key={value}>
              <input type="radio" name={id} checked={way === value} onChange={() => choose(value)} />
              {word}
            </label>
          ))}
          {way === 'fields' && <span>field by field</span>}
        </fieldset>
      </header>
      {otherThing && (
        <p>
          The id is the same, but yours is “{String((mine as { name?: string }).name ?? mine?.id)}”: probably
          two different things.
        </p>
      )}
      <table className="sheet-compare">
        <thead>
          <tr>
            <th scope="col">Field</th>
            <th scope="col">
              Yours
              <Source entry={mine as { source?: Claim } | undefined} />
            </th>
            <th scope="col">
              Theirs
              <Source entry={{ source: sourceOf(theirs, sheet) }} />
            </th>
          </tr>
        </thead>
        <tbody>
          {compared.differences.map(difference => (
            <Row
              key={difference.path}
              {...props}
              difference={difference}
              name={`${id} ${difference.path}`}
              theirsTaken={way !== 'both' && chosen.includes(difference.path)}
              isOpen={way !== 'both' && difference.how !== 'theirs-unknown'}
              onPick={takeIt => {
                const others = chosen.filter(path => path !== difference.path)
                const paths = takeIt ? [...others, difference.path] : others
                onDecide(paths.length === 0 ? { take: 'nothing' } : { take: 'fields', paths })
              }}
            />
          ))}
        </tbody>
      </table>
      {way === 'both' && <p>Theirs is added beside yours, with an id of its own. Yours stays as it is.</p>}
    </article>
  )
}

interface Claim {
  readonly text: string
  readonly date?: string
}

function Source({ entry }: { readonly entry: { readonly source?: Claim } | undefined }) {
  const source = entry?.source
  return (
    <small>
      {source === undefined || source.text === '' ? 'no source given' : source.text}
      {source?.date && `, ${source.date}`}
    </small>
  )
}

interface RowProps extends ContestedProps {
  readonly difference: Difference
  readonly name: string
  readonly theirsTaken: boolean
  readonly isOpen: boolean
  readonly onPick: (theirs: boolean) => void
}

function Row({ difference, compared, bench, theirBench, name, theirsTaken, isOpen, onPick }: RowProps) {
  const { kind } = compared.key
  const label = fieldWords(kind, difference.path)
  const side = (theirs: boolean) => {
    const words = valueWords(
      kind,
      difference.path,
      theirs ? compared.theirs : compared.mine,
      theirs ? theirBench : bench,
    )
    const taken = theirs === theirsTaken
    return (
      <td className={taken && isOpen ? 'sheet-taken' : undefined}>
        <label>
          <input
            type="radio"
            name={name}
            checked={taken && isOpen}
            disabled={!isOpen}
            aria-label={`${label}: ${theirs ? 'theirs' : 'yours'}, ${words}`}
            onChange={() => onPick(theirs)}
          />
          {words}
        </label>
      </td>
    )
  }
  return (
    <tr>
      <th scope="row">
        {label}
        {difference.how === 'gap' && <small>fills a gap</small>}
        {difference.how === 'theirs-unknown' && <small>they do not know; yours stays</small>}
      </th>
      {side(false)}
      {side(true)}
    </tr>
  )
}
