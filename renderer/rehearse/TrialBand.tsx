import type { Trial } from './setup/settings.ts'

/** Says what is tried, and that it is tried on a copy. */
export function TrialBand({ trial, onEnd }: { readonly trial: Trial; readonly onEnd?: () => void }) {
  const { what, words } = trial
  return (
    <section className="rh-trial" aria-label="What is tried">
      <p>
        {what === 'cause' ? 'This is what it would look like: ' : 'This is how it would go once repaired: '}
        <strong>{words}</strong>. It plays on a copy; your own bench stays as it is.
      </p>
      {onEnd && (
        <button type="button" className="rh-button" onClick={onEnd}>
          Back to the diagnosis
        </button>
      )}
    </section>
  )
}
