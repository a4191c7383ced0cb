import { useState } from 'react'
import type { Bench } from '../../../shared/model/bench.ts'
import { isKnown } from '../../../shared/model/units.ts'

interface ReceiverPickerProps {
  readonly bench: Bench
  readonly receiverId: string | undefined
  readonly problem: string | undefined
  readonly onChoose: (id: string) => void
  /** To the questions about a receiver whose type is not known. */
  readonly onFindOut: () => void
}

const MOST_SHOWN = 60

/** What a search finds a receiver by: nickname, type, maker, model. */
export function receiversFor(bench: Bench, search: string) {
  const words = search.toLowerCase().split(/\s+/).filter(Boolean)
  return bench.receivers
    .map(unit => {
      const type = bench.catalogue.receiverTypes.find(t => t.id === unit.typeId)
      const model = bench.models.find(m => m.receiverIds.includes(unit.id))
      const line = `${type?.name ?? (isKnown(unit.typeId) ? unit.typeId : 'type not known')}, ${isKnown(unit.firmware) ? unit.firmware : 'firmware not known'}`
      const text = [unit.nickname, line, type?.maker, model?.name].join(' ').toLowerCase()
      return { unit, line, text }
    })
    .filter(({ text }) => words.every(word => text.includes(word)))
}

/** The receiver that is rehearsed with: one line, which opens to a list that can be searched. */
export function ReceiverPicker({ bench, receiverId, problem, onChoose, onFindOut }: ReceiverPickerProps) {
  const chosen = receiversFor(bench, '').find(({ unit }) => unit.id === receiverId)
  const [open, setOpen] = useState(false)
  const [search, setSearch] = useState('')
  const found = open || chosen === undefined ? receiversFor(bench, search) : []
  return (
    <section className="rh-setting" aria-labelledby="rh-receiver">
      <div className="rh-setting-head">
        <h2 id="rh-receiver">Receiver</h2>
        {chosen === undefined ? null : (
          <button
            type="button"
            className="rh-link-button"
            aria-expanded={open}
            onClick={() => setOpen(!open)}
          >
            {open ? 'Close list' : 'Change'}
          </button>
        )}
      </div>
      {chosen === undefined ? null : (
        <p className="rh-chosen">
          {chosen.unit.nickname}
          <br />
          <span className="rh-soft">{chosen.line}</span>
        </p>
      )}
      {chosen !== undefined && !isKnown(chosen.unit.typeId) ? (
        <p className="rh-soft">
          It can be rehearsed with once its type is known.{' '}
          <button type="button" className="rh-link-button" onClick={onFindOut}>
            Find out what it is
          </button>
        </p>
      ) : null}
      {open || chosen === undefined ? (
        <>
          <label className="rh-field">
            Search
            <input
              type="search"
              value={search}
              placeholder="name, type or model"
              onChange={event => setSearch(event.target.value)}
            />
          </label>
          <fieldset className="rh-choices">
            <legend className="rh-hidden">Receivers</legend>
            {found.slice(0, MOST_SHOWN).map(({ unit, line }) => (
              <label key={unit.id} className="rh-choice">
                <input
                  type="radio"
                  name="rh-receiver"
                  value={unit.id}
                  checked={unit.id === receiverId}
                  onChange={() => onChoose(unit.id)}
                />
                <span>
                  {unit.nickname}
                  <br />
                  <span className="rh-soft">{line}</span>
                </span>
              </label>
            ))}
          </fieldset>
          {found.length === 0 ? <p className="rh-soft">No receiver of this bench is called that.</p> : null}
          {found.length > MOST_SHOWN ? (
            <p className="rh-soft">{found.length - MOST_SHOWN} more; type a part of the name.</p>
          ) : null}
        </>
      ) : null}
      {problem === undefined ? null : (
        <p className="rh-problem" role="alert">
          {problem}
        </p>
      )}
    </section>
  )
}
