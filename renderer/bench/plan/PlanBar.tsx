import type { LibraryEntry } from '../../../shared/library/entry.ts'
import type { Bench } from '../../../shared/model/bench.ts'
import type { Route } from '../../../shared/model/units.ts'
import type { ImageChoice } from '../../../shared/rehearse/report.ts'
import { imagesFor } from '../../rehearse/setup/settings.ts'
import { libraryImagesFor } from '../../rehearse/setup/use-library-images.ts'
import type { PlanDesk } from './use-plan.ts'

interface PlanBarProps {
  readonly bench: Bench
  readonly receiverId: string
  readonly library: readonly LibraryEntry[]
  readonly plan: PlanDesk
  /** Where there is but one way, none is asked for. */
  readonly noRoute?: boolean
}

const ROUTES: readonly (readonly [Route, string])[] = [
  ['cable', 'By cable'],
  ['wireless', 'By air'],
]
const OF_LIBRARY = 'library:'
const FILE = 'file:'

const optionOf = (image: ImageChoice | undefined): string =>
  image === undefined
    ? ''
    : image.kind === 'bench'
      ? image.imageId
      : image.kind === 'library'
        ? OF_LIBRARY + image.id
        : FILE

/** Which image, and which way. */
export function PlanBar({ bench, receiverId, library, plan, noRoute }: PlanBarProps) {
  const { own } = imagesFor(bench, receiverId)
  const chosen = plan.image?.kind === 'library' ? plan.image.id : undefined
  const kept = libraryImagesFor(library, bench, receiverId, chosen)
  const choose = (value: string) => {
    if (value === FILE) return
    const image: ImageChoice = value.startsWith(OF_LIBRARY)
      ? { kind: 'library', id: value.slice(OF_LIBRARY.length) }
      : { kind: 'bench', imageId: value }
    plan.choose({ image })
  }
  return (
    <section className={noRoute ? 'bn-plan bn-plan-plain' : 'bn-plan'} aria-label="What is to be written">
      <label className="bn-plan-image">
        <span>Image</span>
        <select className="ui-input" value={optionOf(plan.image)} onChange={e => choose(e.target.value)}>
          {plan.image === undefined && <option value="">None for this type</option>}
          {plan.image?.kind === 'file' && <option value={FILE}>{plan.image.fileName}</option>}
          {own.map(image => (
            <option key={image.id} value={image.id}>
              {image.name}
            </option>
          ))}
          {kept.length > 0 && (
            <optgroup label="From the library">
              {kept.map(entry => (
                <option key={entry.id} value={OF_LIBRARY + entry.id}>
                  {entry.fileName}
                </option>
              ))}
            </optgroup>
          )}
        </select>
      </label>
      {noRoute !== true && (
        <fieldset className="bn-routes">
          <legend>Route</legend>
          {ROUTES.map(([route, name]) => (
            <label key={route} className="ui-check">
              <input
                type="radio"
                name="bn-route"
                checked={plan.route === route}
                onChange={() => plan.choose({ route })}
              />
              {name}
            </label>
          ))}
        </fieldset>
      )}
    </section>
  )
}
