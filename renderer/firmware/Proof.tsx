import { useState } from 'react'
import type { LibraryEntry } from '../../shared/library/entry.ts'
import { Button } from '../ui/Button.tsx'
import { TextField } from '../ui/Field.tsx'
import { StatusMark, type StatusRole } from '../ui/StatusMark.tsx'
import { sayAlike, sayOtherFiles } from './alike.ts'

export interface ProofProps {
  readonly entry: LibraryEntry
  readonly entries: readonly LibraryEntry[]
  readonly onKeys: () => void
  /** @param sha256 what the maker publishes; null takes the comparison back */
  readonly onCompareDigest: (sha256: string | null) => Promise<boolean>
}

interface Said {
  readonly status: StatusRole
  readonly word: string
  readonly sentence: string
}

function saySignature({ signature, signatureLost, card }: LibraryEntry): Said {
  switch (signature?.verdict) {
    case 'good':
      return {
        status: 'good',
        word: 'signature good',
        sentence: `Signed by ${signature.maker} with the key ${signature.keyId}, which you trust.`,
      }
    case 'bad':
      return {
        status: 'danger',
        word: 'signature wrong',
        sentence: [signature.problem?.message, signature.problem?.remedy].filter(Boolean).join(' '),
      }
    case 'unknown-key':
      return {
        status: 'unknown',
        word: 'signature not checked',
        sentence: `Signed with the key ${signature.keyId}, which is not among your makers’ keys. Get the key from its maker by a way that you trust.`,
      }
    case 'missing':
      return { status: 'unknown', word: 'not signed', sentence: notSigned(signatureLost, card !== null) }
    default:
      return {
        status: 'unknown',
        word: 'signature not checked',
        sentence: 'The signature could not be checked just now.',
      }
  }
}

function notSigned(lost: string | undefined, hasCard: boolean): string {
  if (lost !== undefined)
    return `Its image card was changed by hand, so the signature with the key ${lost} no longer covers it.`
  return hasCard
    ? 'Its image card has no signature, so nothing proves that it comes from its maker.'
    : 'It has no signed image card, so nothing proves that it comes from its maker.'
}

/** Whose the image is proved to be, and which images of the library are the same program. */
export function Proof({ entry, entries, onKeys, onCompareDigest }: ProofProps) {
  const { status, word, sentence } = saySignature(entry)
  const byId = new Map(entries.map(one => [one.id, one]))
  const same = [...sayAlike(entry, byId), ...sayOtherFiles(entry)]
  const wantsKey = entry.signature?.verdict === 'unknown-key'
  return (
    <section className="fw-proof" aria-label="Where it comes from">
      <p>
        <StatusMark status={status}>{word}</StatusMark> {sentence}
      </p>
      {wantsKey && <Button onClick={onKeys}>Makers’ keys…</Button>}
      <PublishedDigest key={entry.id} entry={entry} onCompareDigest={onCompareDigest} />
      {same.map(line => (
        <p key={line}>{line}</p>
      ))}
    </section>
  )
}

const DIGEST = /^[0-9a-f]{64}$/i

/** Where no card came with the image, only the digest that the maker publishes can show that it is whole. */
function PublishedDigest({ entry, onCompareDigest }: Pick<ProofProps, 'entry' | 'onCompareDigest'>) {
  const [text, setText] = useState('')
  const [error, setError] = useState<string>()
  if (entry.cardFrom === 'beside') return null
  if (entry.digestCompared !== undefined)
    return (
      <p>
        <StatusMark status="good">digest compared</StatusMark> It agrees with what the maker publishes,
        compared on {entry.digestCompared.slice(0, 10)}.{' '}
        <Button kind="quiet" onClick={() => void onCompareDigest(null)}>
          Take it back
        </Button>
      </p>
    )
  const compare = async () => {
    const digest = text.replaceAll(/[\s:]/g, '')
    if (!DIGEST.test(digest)) return setError('A SHA-256 digest has 64 digits, 0 to 9 and a to f.')
    setError((await onCompareDigest(digest)) ? undefined : 'It does not agree: see above.')
  }
  return (
    <form
      className="fw-published"
      onSubmit={event => {
        event.preventDefault()
        void compare()
      }}
    >
      <TextField
        label="SHA-256 digest that its maker publishes"
        value={text}
        placeholder="64 digits, from the page of the maker"
        error={error}
        onChange={value => {
          setError(undefined)
          setText(value)
        }}
      />
      <Button type="submit">Compare</Button>
    </form>
  )
}
