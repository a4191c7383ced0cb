import type { CardCheckReply } from '../../../shared/api/card.ts'
import { digestWords } from '../../../shared/image/digest.ts'
import type { Bench } from '../../../shared/model/bench.ts'
import { isKnown } from '../../../shared/model/units.ts'
import { Notice } from '../../ui/Notice.tsx'
import { StatusMark, type StatusRole } from '../../ui/StatusMark.tsx'
import { readBackWords } from './Done.tsx'

type CheckedImage = CardCheckReply['images'][number]

const stateMarks: Readonly<Record<CheckedImage['state'], StatusRole>> = {
  intact: 'good',
  changed: 'danger',
  missing: 'danger',
  unreadable: 'danger',
}

/** `3 images: 2 intact, 1 changed`, and whether all is well. */
export function summaryOf({ images, leftOver }: Pick<CardCheckReply, 'images' | 'leftOver'>): {
  readonly kind: 'good' | 'caution' | 'danger'
  readonly text: string
} {
  const count = (state: CheckedImage['state']) => images.filter(i => i.state === state).length
  const parts = (['intact', 'changed', 'missing', 'unreadable'] as const)
    .map(state => [state, count(state)] as const)
    .filter(([, n]) => n > 0)
    .map(([state, n]) => `${n} ${state}`)
  const stale = images.filter(i => i.stale !== undefined).length
  const text = [
    `${images.length} ${images.length === 1 ? 'image' : 'images'}: ${parts.join(', ') || 'none'}.`,
    ...(stale > 0 ? [`${stale} no longer of use, or perhaps so.`] : []),
    ...(leftOver.length > 0 ? ['A staging was interrupted here.'] : []),
  ].join(' ')
  const isBad = images.some(i => i.state !== 'intact')
  return { kind: isBad ? 'danger' : stale + leftOver.length > 0 ? 'caution' : 'good', text }
}

/** What is on a card: which images, for whom, in which state, and what else lies there. */
export function CheckResult({ bench, reply }: { readonly bench: Bench; readonly reply: CardCheckReply }) {
  const { images, cardName, written, readBack } = reply
  const { kind, text } = summaryOf(reply)
  return (
    <section className="st-result" aria-label="What is on it">
      <h3>
        {cardName ?? 'A card without a name'}, last staged {written.slice(0, 10)}
      </h3>
      <Notice kind={kind}>{text}</Notice>
      <ul>
        {images.map(one => (
          <CheckedRow key={one.image.name} bench={bench} one={one} />
        ))}
      </ul>
      <Others what="Left by a staging that was interrupted" names={reply.leftOver} />
      <Others what="Not staged from here" names={reply.unlisted} />
      <Others what="Left by desktop systems, of no use to the radio" names={reply.junk} />
      <p className="fw-soft fw-small">Read {readBackWords[readBack]}.</p>
    </section>
  )
}

function CheckedRow({ bench, one }: { readonly bench: Bench; readonly one: CheckedImage }) {
  const { image, state, text, receivers, stale } = one
  const type = bench.catalogue.receiverTypes.find(t => t.id === image.typeId)
  const names = receivers.map(id => bench.receivers.find(r => r.id === id)?.nickname ?? id)
  return (
    <li>
      <p>
        <StatusMark status={stateMarks[state]}>{state}</StatusMark> <strong>{image.name}</strong>{' '}
        <span className="fw-soft">
          {type ? `${type.maker} ${type.name}` : image.typeId},{' '}
          {isKnown(image.version) ? image.version : 'version not known'}, staged {image.staged.slice(0, 10)},{' '}
          <code>{digestWords(image.sha256)}</code>
        </span>
      </p>
      {state !== 'intact' && <p>{text}</p>}
      {stale && <p>{stale.text}</p>}
      <p className="fw-soft fw-small">
        {names.length === 0 ? 'For no receiver on this bench.' : `For ${names.join('; ')}.`}
      </p>
    </li>
  )
}

function Others({ what, names }: { readonly what: string; readonly names: readonly string[] }) {
  if (names.length === 0) return null
  return (
    <p>
      {what}: {names.join(', ')}
    </p>
  )
}
