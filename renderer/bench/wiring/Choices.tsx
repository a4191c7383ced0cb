import type { Bench } from '../../../shared/model/bench.ts'
import { around } from '../../../shared/model/bench.ts'
import { type Option, SelectField } from '../../ui/Select.tsx'
import type { ChosenWiring } from './use-wiring.ts'
import { feedWords } from './words.ts'

export interface ChoicesProps {
  readonly bench: Bench
  readonly receiverId: string
  readonly choices: ChosenWiring
  readonly onChoose: (choices: ChosenWiring) => void
}

const named = (list: readonly { readonly id: string; readonly nickname: string }[]): Option<string>[] =>
  list.map(({ id, nickname }) => ({ value: id, word: nickname }))

const FEEDS = Object.entries(feedWords).map(([value, word]) => ({
  value: value as keyof typeof feedWords,
  word,
}))

/** Which adapter, which cable, what feeds. */
export function Choices({ bench, receiverId, choices, onChoose }: ChoicesProps) {
  const feed = choices.feed ?? 'through-cable'
  const usual = around(bench, receiverId).supply
  // Cables for adapters first: the others seldom fit.
  const cables = bench.cables.toSorted(
    (a, b) => Number(b.pinWires !== undefined) - Number(a.pinWires !== undefined),
  )
  return (
    <div className="wi-choices">
      <SelectField
        label="Adapter"
        value={choices.adapterId}
        options={named(bench.adapters)}
        onChange={adapterId => onChoose({ ...choices, adapterId })}
      />
      <SelectField
        label="Cable"
        value={choices.cableId}
        options={named(cables)}
        onChange={cableId => onChoose({ ...choices, cableId })}
      />
      <SelectField
        label="The receiver is fed"
        value={feed}
        options={FEEDS}
        onChange={next => onChoose({ ...choices, feed: next === 'unknown' ? feed : next })}
      />
      {feed !== 'through-cable' && (
        <SelectField
          label="Its own supply"
          optional
          none={usual ? `${usual.nickname}, as usual` : 'none'}
          value={choices.supplyId}
          options={named(bench.supplies)}
          onChange={supplyId => onChoose({ ...choices, supplyId })}
        />
      )}
    </div>
  )
}
