import { type FormEvent, useState } from 'react'
import type { PracticeSetup } from '../../../shared/diagnose/exercise.ts'
import { Button } from '../../ui/Button.tsx'
import { CheckField, TextField } from '../../ui/Field.tsx'
import { minuteWords } from '../words.ts'
import { PracticeTag } from './PracticeTag.tsx'
import { faultWords, type PracticeResult, readSeed, spentWords } from './results.ts'

export interface PracticeStartProps {
  readonly results: readonly PracticeResult[]
  readonly anySeed: () => number
  readonly onBegin: (setup: PracticeSetup) => void
}

const FAULTS: readonly (readonly [PracticeSetup['faults'], string])[] = [
  ['one', 'One'],
  ['two', 'Two'],
  ['either', 'One or two, not told'],
]

/** Which exercise it is to be, and those that are over. */
export function PracticeStart({ results, anySeed, onBegin }: PracticeStartProps) {
  const last = results[0]?.setup
  const [faults, setFaults] = useState<PracticeSetup['faults']>(last?.faults ?? 'one')
  const [lies, setLies] = useState(last?.lies ?? false)
  const [number, setNumber] = useState('')
  const [error, setError] = useState<string>()
  const begin = (event: FormEvent) => {
    event.preventDefault()
    const seed = readSeed(number)
    if (typeof seed === 'string') setError(seed)
    else onBegin({ seed: seed ?? anySeed(), faults, lies })
  }
  return (
    <div className="pr-start">
      <form className="pr-card" onSubmit={begin} aria-labelledby="pr-start-title">
        <h2 id="pr-start-title">
          Find what is wrong <PracticeTag />
        </h2>
        <p>
          A customer brings a receiver whose update does not work. You choose what to look at and what to
          repair, and are told what is seen. The clock counts the minutes that it would take at a real bench.
          At the end you see what it was, and how the engine would have found it.
        </p>
        <fieldset className="ui-field">
          <legend className="ui-field-label">How many things are wrong?</legend>
          <div className="ui-choices">
            {FAULTS.map(([value, word]) => (
              <label key={value} className="ui-check">
                <input
                  type="radio"
                  name="pr-faults"
                  checked={faults === value}
                  onChange={() => setFaults(value)}
                />
                {word}
              </label>
            ))}
          </div>
        </fieldset>
        <CheckField
          label="What is seen can be wrong"
          hint="About one look in twenty shows the opposite, as when somebody misreads a meter. Look again where much hangs on it."
          value={lies}
          onChange={setLies}
        />
        <div className="pr-number">
          <TextField
            label="Number of the exercise"
            optional
            hint="The same number, with the same choices, is the same exercise for everybody. Left empty, it is any."
            error={error}
            value={number}
            onChange={text => {
              setNumber(text)
              setError(undefined)
            }}
          />
        </div>
        <div>
          <Button kind="primary" type="submit">
            Start
          </Button>
        </div>
      </form>
      {results.length > 0 && <Results results={results} onBegin={onBegin} />}
    </div>
  )
}

function Results({ results, onBegin }: Pick<PracticeStartProps, 'results' | 'onBegin'>) {
  return (
    <section className="pr-card" aria-labelledby="pr-results-title">
      <h2 id="pr-results-title">
        Exercises so far <PracticeTag />
      </h2>
      <p className="dg-soft dg-small">Kept until this window is closed.</p>
      <ol className="pr-results">
        {results.map(one => (
          <li key={one.number}>
            <div>
              <p>
                <strong>Number {one.setup.seed}.</strong> {one.symptom}
              </p>
              <p className="dg-soft dg-small">
                {faultWords[one.setup.faults]}
                {one.setup.lies ? '; looks can be wrong' : ''}.{' '}
                {one.works ? `Works after ${minuteWords(one.spent.minutes)}` : 'Given up'}:{' '}
                {spentWords(one.spent)}. The engine: {minuteWords(one.engineMinutes)}.
              </p>
            </div>
            <Button aria-label={`Again: number ${one.setup.seed}`} onClick={() => onBegin({ ...one.setup })}>
              Again
            </Button>
          </li>
        ))}
      </ol>
    </section>
  )
}
