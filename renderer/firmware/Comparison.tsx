import { digestWords } from '../../shared/image/digest.ts'
import type { Bench } from '../../shared/model/bench.ts'
import type { ReceiverUnit } from '../../shared/model/gear.ts'
import { isKnown } from '../../shared/model/units.ts'
import { digestOf } from './digests.ts'
import { type Listed, versionWord } from './listed.ts'
import { differences, standingOut } from './look-alike.ts'

export interface ComparisonProps {
  readonly bench: Bench
  readonly receiver: ReceiverUnit
  readonly typeName: string | undefined
  readonly chosen: Listed
  readonly alike: readonly Listed[]
}

const wordsOf = (one: Listed, bench: Bench): string => {
  const digest = digestOf(one, bench)
  return digest === undefined ? 'not known' : digestWords(digest)
}

/** What differs from the chosen image stands out by weight and underline. */
function Against({ text, other }: { readonly text: string; readonly other: string }) {
  return standingOut(text, other).map((piece, i) =>
    // biome-ignore lint/suspicious/noArrayIndexKey: pieces of a text have no other name
    piece.differs ? <mark key={i}>{piece.text}</mark> : <span key={i}>{piece.text}</span>,
  )
}

/** The chosen image under the receiver and under every image that could be taken for it. */
export function Comparison({ bench, receiver, typeName, chosen, alike }: ComparisonProps) {
  const version = versionWord(chosen.facts)
  const words = wordsOf(chosen, bench)
  const runs = isKnown(receiver.firmware) ? `runs ${receiver.firmware}` : 'not known'
  return (
    <section className="fw-compare" aria-label="Compare before you go on">
      <h3>Compare before you go on</h3>
      <table>
        <thead>
          <tr>
            <td />
            <th scope="col">Version</th>
            <th scope="col">Type</th>
            <th scope="col">Digest words</th>
          </tr>
        </thead>
        <tbody>
          <tr className="fw-compare-chosen">
            <th scope="row">This image</th>
            <td>{version}</td>
            <td>{chosen.typeName}</td>
            <td>
              <code>{words}</code>
            </td>
          </tr>
          <tr>
            <th scope="row">The receiver</th>
            <td>{runs}</td>
            <td>
              {typeName === undefined ? 'not known' : <Against text={typeName} other={chosen.typeName} />}
            </td>
            <td className="fw-soft">cannot be seen from here</td>
          </tr>
          {alike.map(other => (
            <tr key={other.key}>
              <th scope="row">{other.name}</th>
              <td>
                <Against text={versionWord(other.facts)} other={version} />
              </td>
              <td>
                <Against text={other.typeName} other={chosen.typeName} />
              </td>
              <td>
                <code>
                  <Against text={wordsOf(other, bench)} other={words} />
                </code>
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      {alike.length === 0 ? (
        <p className="fw-soft fw-small">No other image here could be taken for it.</p>
      ) : (
        <ul className="fw-differences">
          {alike.map(other => (
            <li key={other.key}>
              <strong>Not the same as {other.name}.</strong> {differences(chosen, other).join(' ')}
            </li>
          ))}
        </ul>
      )}
    </section>
  )
}
