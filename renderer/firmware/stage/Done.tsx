import type { StagedReply } from '../../../shared/api/card.ts'
import { digestWords } from '../../../shared/image/digest.ts'
import { sayProblem } from '../../../shared/model/problem.ts'
import { Notice } from '../../ui/Notice.tsx'

export const readBackWords: Readonly<Record<StagedReply['readBack'], string>> = {
  device: 'from the card itself, past the memory of this computer',
  'perhaps cache':
    'perhaps from the memory of this computer: this system or card lets nobody past it. To be sure, take the card out, put it in again, and look at what is on it',
}

/** Where it lies, what was proven, and when the card may be taken out. */
export function Done({ staged }: { readonly staged: StagedReply }) {
  const { path, sha256, readBack, manifest, junk, eject, bytes, warnings } = staged
  return (
    <div className="st-done">
      <Notice kind="good">What was read back is the image, octet for octet.</Notice>
      <p className="st-eject">{eject}</p>
      <dl className="fw-facts">
        <div>
          <dt>Where</dt>
          <dd>
            <code>{path}</code>
          </dd>
        </div>
        <div>
          <dt>Length</dt>
          <dd>{bytes.toLocaleString('en')} octets</dd>
        </div>
        <div>
          <dt>Digest words</dt>
          <dd>
            <code>{digestWords(sha256)}</code>
          </dd>
        </div>
        <div>
          <dt>SHA-256</dt>
          <dd>
            <code className="fw-digest">{sha256}</code>
          </dd>
        </div>
        <div>
          <dt>Read back</dt>
          <dd>{readBackWords[readBack]}</dd>
        </div>
        <div>
          <dt>Name of the card</dt>
          <dd>{manifest.cardName ?? 'none'}</dd>
        </div>
        {junk.length > 0 && (
          <div>
            <dt>Of no use there</dt>
            <dd>{junk.join(', ')}, left by desktop systems; the radio does not need it</dd>
          </div>
        )}
      </dl>
      {warnings.map(warning => (
        <Notice kind="caution" key={sayProblem(warning)}>
          {sayProblem(warning)}
        </Notice>
      ))}
    </div>
  )
}
