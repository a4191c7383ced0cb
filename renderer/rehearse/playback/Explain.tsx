import { useSyncExternalStore } from 'react'
import type { DeviceId } from '../../../shared/sim/trace.ts'
import { fateWords, hexOf } from '../../../shared/wire/decode-lane.ts'
import type { DeviceWords } from '../diagram/devices.ts'
import type { TimeLineController } from '../timeline/controller.ts'
import { frameOf } from '../timeline/session.ts'
import { sayMoment, saySpan } from '../timeline/viewport.ts'
import type { DeviceState } from './state-at.ts'

const purposes: Readonly<Record<DeviceId, string>> = {
  radio: 'Reads the image from its card and leads the update.',
  card: 'Holds the image and its image card.',
  module: 'Carries the update over the air when it goes wireless. By cable it has no part in it.',
  cable: 'Carries the signal both ways on one wire, and the feed where it is set so.',
  air: 'The way between module and receiver: what gets across depends on distance, band and who else talks.',
  receiver: 'Takes the image into its flash, checks it and starts it.',
  supply: 'Feeds the receiver. Below its brown-out level the receiver resets.',
  sensor: 'Telemetry sensors share the wire; they have to keep quiet during an update.',
}

/** The chosen device in words. */
export function ExplainDevice({ words, state }: { words: DeviceWords; state: DeviceState | undefined }) {
  return (
    <section className="rh-explain" aria-label="Chosen device">
      <h2>{words.present ? words.name : `${words.kind}: none`}</h2>
      <p>{purposes[words.id]}</p>
      <dl className="rh-facts">
        {state === undefined ? null : (
          <>
            <dt>At this moment</dt>
            <dd>{state.state}</dd>
          </>
        )}
        {words.facts.map(({ label, value }) => (
          <div key={label} className="rh-fact">
            <dt>{label}</dt>
            <dd>{value}</dd>
          </div>
        ))}
      </dl>
    </section>
  )
}

/** The chosen frame in words and octets. */
export function ExplainFrame({ controller }: { controller: TimeLineController }) {
  const { selected } = useSyncExternalStore(controller.subscribe, controller.read)
  const frame = selected && frameOf(controller.session, selected)
  if (selected === undefined || frame === undefined) return null
  return (
    <section className="rh-explain" aria-label="Chosen frame">
      <h2>{frame.title}</h2>
      <p>{frame.detail}</p>
      <dl className="rh-facts">
        <dt>From</dt>
        <dd>{frame.talkerName}</dd>
        <dt>Start</dt>
        <dd className="rh-figures">{sayMoment(frame.startNs, 1e4)}</dd>
        <dt>Lasts</dt>
        <dd className="rh-figures">{saySpan(frame.endNs - frame.startNs)}</dd>
        <dt>What became of it</dt>
        <dd className={frame.fate === 'arrived' ? undefined : 'rh-spoilt'}>{fateWords[frame.fate]}</dd>
      </dl>
      <h3>Octets as sent, hexadecimal</h3>
      <p className="rh-mono rh-octets">{hexOf(frame.octets)}</p>
      {frame.heard === undefined ? null : (
        <>
          <h3>What a listener made of it</h3>
          <p className="rh-mono rh-octets">{hexOf(frame.heard.octets) || 'nothing'}</p>
          <p>Characters without a proper stop bit: {frame.heard.framingErrors}</p>
        </>
      )}
      <button type="button" className="rh-button" onClick={() => controller.select(undefined)}>
        Close
      </button>
    </section>
  )
}
