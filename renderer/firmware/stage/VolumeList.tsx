import { useId } from 'react'
import type { ListedVolume, Place } from '../../../shared/api/card.ts'
import { ProblemList } from '../../ui/Notice.tsx'
import { StatusMark } from '../../ui/StatusMark.tsx'
import type { VolumesDesk } from './use-volumes.ts'
import { VolumeShape } from './VolumeShape.tsx'
import { isNever, kindWords, nameOf, sizeWord, sortVolumes } from './volume-words.ts'

/** What is chosen: a listed volume, or a folder whose path is typed. */
export interface PlaceChoice {
  readonly volume: string | undefined
  readonly isFolder: boolean
  readonly typed: string
}

/** A card that cannot be written can still be looked at. */
export type Purpose = 'write' | 'read'

const serves = ({ refusal, kind, readOnly }: ListedVolume, purpose: Purpose): boolean =>
  refusal === undefined || (purpose === 'read' && readOnly && !isNever(kind))

export const NO_PLACE: PlaceChoice = { volume: undefined, isFolder: false, typed: '' }

/** @returns undefined while nothing is chosen, or the chosen volume is not there */
export function placeOf(
  choice: PlaceChoice,
  volumes: readonly ListedVolume[] | undefined,
  purpose: Purpose = 'write',
): Place | undefined {
  if (choice.isFolder)
    return choice.typed.trim() === '' ? undefined : { path: choice.typed.trim(), folderOnly: true }
  const found = volumes?.find(v => v.path === choice.volume && serves(v, purpose))
  return found && { path: found.path, folderOnly: false }
}

interface VolumeListProps {
  readonly desk: VolumesDesk
  readonly choice: PlaceChoice
  readonly purpose?: Purpose
  readonly onChoose: (choice: PlaceChoice) => void
}

/** The mounted volumes to choose from. Those that are refused are there too, with the reason. */
export function VolumeList({ desk, choice, purpose = 'write', onChoose }: VolumeListProps) {
  const group = useId()
  const { shown, never } = sortVolumes(desk.volumes ?? [])
  const isGone = choice.volume !== undefined && !(desk.volumes ?? []).some(v => v.path === choice.volume)
  return (
    <fieldset className="st-volumes">
      <legend className="visually-hidden">Volumes</legend>
      <ul>
        {shown.map(volume => (
          <li key={volume.path}>
            <label className={serves(volume, purpose) ? 'st-volume' : 'st-volume st-volume-refused'}>
              <input
                type="radio"
                name={group}
                disabled={!serves(volume, purpose)}
                checked={!choice.isFolder && choice.volume === volume.path && serves(volume, purpose)}
                onChange={() => onChoose({ ...choice, isFolder: false, volume: volume.path })}
              />
              <VolumeShape kind={volume.kind} />
              <VolumeWords volume={volume} refusal={serves(volume, purpose) ? undefined : volume.refusal} />
            </label>
          </li>
        ))}
        {desk.volumes !== undefined && shown.length === 0 && (
          <li className="st-none">
            No card and no storage of a radio is in sight. This list looks again by itself.
          </li>
        )}
        {isGone && !choice.isFolder && (
          <li className="st-none">
            <StatusMark status="caution">{`${choice.volume} is no longer there.`}</StatusMark>
          </li>
        )}
        <li>
          <label className="st-volume">
            <input
              type="radio"
              name={group}
              checked={choice.isFolder}
              onChange={() => onChoose({ ...choice, isFolder: true })}
            />
            <span className="st-volume-words">
              <span>
                A folder on this computer{purpose === 'write' && ', to be copied to the card later'}
              </span>
            </span>
          </label>
          {choice.isFolder && (
            <input
              type="text"
              className="ui-input st-typed"
              aria-label="Path of the folder"
              placeholder="the whole path"
              value={choice.typed}
              onChange={e => onChoose({ ...choice, typed: e.target.value })}
            />
          )}
        </li>
      </ul>
      <p className="visually-hidden" role="status">
        {desk.told}
      </p>
      {desk.problems.length > 0 && <ProblemList problems={desk.problems} />}
      {never.length > 0 && <NeverList volumes={never} />}
    </fieldset>
  )
}

function VolumeWords({ volume, refusal }: Pick<ListedVolume, 'refusal'> & { readonly volume: ListedVolume }) {
  const { kind, certain, why, path, label, freeBytes, totalBytes } = volume
  return (
    <span className="st-volume-words">
      <span>
        <strong>{nameOf(volume)}</strong> {kindWords[kind]}
        {certain ? '' : ', probably'}
        {label !== undefined && <code>{path}</code>}
      </span>
      <span className="fw-soft fw-small">
        {sizeWord(freeBytes)} free of {sizeWord(totalBytes)}. {why}
      </span>
      {refusal && (
        <span className="fw-small">
          <StatusMark status="danger">Not now.</StatusMark> {refusal.message} {refusal.remedy}
        </span>
      )}
    </span>
  )
}

/** Nothing is hidden: what can never be chosen is counted, and named on opening. */
function NeverList({ volumes }: { readonly volumes: readonly ListedVolume[] }) {
  return (
    <details className="st-never">
      <summary>
        Not for images: {volumes.length} {volumes.length === 1 ? 'volume' : 'volumes'} of this computer
      </summary>
      <ul>
        {volumes.map(volume => (
          <li key={volume.path} className="st-volume st-volume-refused">
            <VolumeShape kind={volume.kind} />
            <span className="st-volume-words">
              <span>
                <strong>{volume.path}</strong> {kindWords[volume.kind]}
              </span>
              <span className="fw-small">{volume.refusal?.message}</span>
            </span>
          </li>
        ))}
      </ul>
    </details>
  )
}
