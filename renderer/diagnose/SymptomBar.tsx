import { symptomWords } from '../../shared/diagnose/words.ts'
import type { Bench } from '../../shared/model/bench.ts'
import { imageWords } from '../../shared/model/image-words.ts'
import type { Route } from '../../shared/model/units.ts'
import { Button } from '../ui/Button.tsx'
import type { Asked } from './use-diagnosis.ts'
import { routeWords } from './words.ts'

interface SymptomBarProps {
  readonly bench: Bench
  readonly asked: Asked
  readonly route: Route
  readonly onSay: (change: Partial<Asked>) => void
}

/** The symptom in the middle, the way that the update went, and the image in question. */
export function SymptomBar({ bench, asked, route, onSay }: SymptomBarProps) {
  if (asked.symptom === undefined) return null
  const { label, routes } = symptomWords[asked.symptom]
  const typeId = bench.receivers.find(r => r.id === asked.receiverId)?.typeId
  const own = bench.images.filter(image => image.typeId === typeId)
  const others = bench.images.filter(image => image.typeId !== typeId)
  return (
    <section className="dg-bar" aria-label="What is seen">
      <p className="dg-symptom">
        <strong>{label}</strong>
        <Button kind="quiet" aria-label="Change what is seen" onClick={() => onSay({ symptom: undefined })}>
          Change
        </Button>
      </p>
      <div className="dg-bar-more">
        {routes.length > 1 ? (
          <fieldset className="dg-routes" aria-label="Route">
            {routes.map(each => (
              <label key={each}>
                <input
                  type="radio"
                  name="dg-route"
                  checked={route === each}
                  onChange={() => onSay({ route: each, tried: [], putOff: [] })}
                />
                {routeWords[each]}
              </label>
            ))}
          </fieldset>
        ) : (
          <span className="dg-soft">{routeWords[route]}</span>
        )}
        <label className="dg-image">
          Image
          <select
            className="ui-input"
            aria-label="Image in question"
            value={asked.imageId ?? ''}
            onChange={e => onSay({ imageId: e.target.value === '' ? undefined : e.target.value })}
          >
            <option value="">not said</option>
            {own.map(image => (
              <option key={image.id} value={image.id}>
                {imageWords(image)}
              </option>
            ))}
            {others.length > 0 && (
              <optgroup label="For other types">
                {others.map(image => (
                  <option key={image.id} value={image.id}>
                    {imageWords(image)}
                  </option>
                ))}
              </optgroup>
            )}
          </select>
        </label>
      </div>
    </section>
  )
}
