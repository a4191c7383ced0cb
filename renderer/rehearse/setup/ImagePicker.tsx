import { useRef } from 'react'
import type { LibraryEntry } from '../../../shared/library/entry.ts'
import type { Bench } from '../../../shared/model/bench.ts'
import { imageChoice, imagesFor, type Settings } from './settings.ts'
import { libraryImagesFor } from './use-library-images.ts'

interface ImagePickerProps {
  readonly bench: Bench
  readonly receiverId: string | undefined
  readonly settings: Settings
  readonly library: readonly LibraryEntry[]
  readonly problem: string | undefined
  readonly versionProblem: string | undefined
  /** The image has parts outside program flash, which can be left out. */
  readonly reachesOutside: boolean
  readonly onChange: (settings: Settings) => void
  readonly onFiles: (files: readonly File[]) => void
}

const OF_LIBRARY = 'library:'
const picked = (value: string): Pick<Settings, 'imageId' | 'libraryId'> =>
  value.startsWith(OF_LIBRARY)
    ? { imageId: undefined, libraryId: value.slice(OF_LIBRARY.length) }
    : { imageId: value, libraryId: undefined }

/** The image: one of the bench's, of the library's, those for the receiver's type first, or a file. */
export function ImagePicker(props: ImagePickerProps) {
  const { bench, receiverId, settings, problem, onChange, onFiles } = props
  const input = useRef<HTMLInputElement | null>(null)
  const { own, other } = imagesFor(bench, receiverId)
  const choice = imageChoice(bench, receiverId, settings)
  const chosenId =
    choice?.kind === 'bench' ? choice.imageId : choice?.kind === 'library' ? OF_LIBRARY + choice.id : ''
  const kept = libraryImagesFor(props.library, bench, receiverId, settings.libraryId)
  const image = bench.images.find(i => i.id === chosenId)
  const isListed = settings.libraryId === undefined || kept.some(entry => entry.id === settings.libraryId)
  return (
    <section className="rh-setting" aria-labelledby="rh-image">
      <div className="rh-setting-head">
        <h2 id="rh-image">Image</h2>
        <button type="button" className="rh-link-button" onClick={() => input.current?.click()}>
          Choose a file…
        </button>
      </div>
      <input
        ref={input}
        type="file"
        className="rh-hidden"
        tabIndex={-1}
        multiple
        aria-label="Image file, Intel HEX or raw binary"
        onChange={event => {
          onFiles([...(event.target.files ?? [])])
          event.target.value = ''
        }}
      />
      {settings.file === undefined ? (
        <select
          aria-labelledby="rh-image"
          value={chosenId}
          onChange={event => onChange({ ...settings, ...picked(event.target.value), file: undefined })}
        >
          {chosenId === '' ? <option value="">None for this type</option> : null}
          {isListed ? null : <option value={chosenId}>From the library</option>}
          <optgroup label="For this receiver’s type">
            {own.map(i => (
              <option key={i.id} value={i.id}>
                {i.name}
              </option>
            ))}
          </optgroup>
          {kept.length > 0 && (
            <optgroup label="From the library">
              {kept.map(entry => (
                <option key={entry.id} value={OF_LIBRARY + entry.id}>
                  {entry.fileName}
                </option>
              ))}
            </optgroup>
          )}
          <optgroup label="For other types">
            {other.map(i => (
              <option key={i.id} value={i.id}>
                {i.name}
              </option>
            ))}
          </optgroup>
        </select>
      ) : (
        <FileChosen {...props} />
      )}
      {settings.file === undefined && image !== undefined ? (
        <p className="rh-soft rh-small">
          {Math.round(image.sizeBytes / 1024)} KiB. {image.releaseNotes}
        </p>
      ) : null}
      {problem === undefined ? null : (
        <p className="rh-problem" role="alert">
          {problem}
        </p>
      )}
      {settings.file === undefined ? (
        <p className="rh-soft rh-small">Or drop a file anywhere on this view.</p>
      ) : null}
    </section>
  )
}

function FileChosen(props: ImagePickerProps) {
  const { bench, receiverId, settings, versionProblem, reachesOutside, onChange } = props
  const { file } = settings
  if (file === undefined) return null
  const ownType = bench.receivers.find(r => r.id === receiverId)?.typeId
  return (
    <>
      <p className="rh-chosen">
        {file.fileName}
        <br />
        <span className="rh-soft rh-figures">
          {file.octets.length.toLocaleString('en')} octets
          {file.cardText === undefined ? '' : ', with its image card'}
        </span>
      </p>
      {file.cardText !== undefined ? null : (
        <>
          <p className="rh-soft rh-small">It has no image card, so say what it is for.</p>
          <label className="rh-field">
            For type
            <select
              value={settings.declaredTypeId ?? ownType ?? ''}
              onChange={event => onChange({ ...settings, declaredTypeId: event.target.value })}
            >
              {bench.catalogue.receiverTypes.map(type => (
                <option key={type.id} value={type.id}>
                  {type.maker} {type.name}
                </option>
              ))}
            </select>
          </label>
          <label className="rh-field">
            Version
            <input
              value={settings.declaredVersion}
              placeholder="such as 2.3.1"
              aria-invalid={versionProblem !== undefined}
              onChange={event => onChange({ ...settings, declaredVersion: event.target.value })}
            />
          </label>
          {versionProblem === undefined ? null : (
            <p className="rh-problem" role="alert">
              {versionProblem}
            </p>
          )}
        </>
      )}
      {reachesOutside || settings.dropOutside ? (
        <label className="rh-check">
          <input
            type="checkbox"
            checked={settings.dropOutside}
            onChange={event => onChange({ ...settings, dropOutside: event.target.checked })}
          />
          Leave out what lies outside program flash
        </label>
      ) : null}
      <button
        type="button"
        className="rh-link-button"
        onClick={() => onChange({ ...settings, file: undefined, dropOutside: false })}
      >
        Back to the bench’s images
      </button>
    </>
  )
}
