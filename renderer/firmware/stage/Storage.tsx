import type { StorageWords } from './storage-words.ts'

/** How this radio shows its storage. */
export function Storage({ words }: { readonly words: StorageWords }) {
  const { radio, ways, notKnown, shows } = words
  return (
    <div className="st-storage">
      <p>
        <strong>{radio ?? 'The radio'}.</strong> {ways.length === 1 && `${ways[0]} `}
        {notKnown}
      </p>
      {ways.length > 1 && (
        <ul>
          {ways.map(way => (
            <li key={way}>{way}</li>
          ))}
        </ul>
      )}
      <p>{shows}</p>
    </div>
  )
}
