import type { ReceiverUnit } from '../../shared/model/gear.ts'

export interface ReceiverChoiceProps {
  readonly receivers: readonly ReceiverUnit[]
  readonly receiverId: string | undefined
  readonly onChoose: (id: string) => void
}

/** For which receiver a view is: stands behind the view's name. */
export function ReceiverChoice({ receivers, receiverId, onChoose }: ReceiverChoiceProps) {
  return (
    <label className="ui-receiver">
      for
      <select
        className="ui-input"
        aria-label="Receiver"
        // A name may be longer than any field.
        title={receivers.find(r => r.id === receiverId)?.nickname}
        value={receiverId ?? ''}
        onChange={e => onChoose(e.target.value)}
      >
        {receiverId === undefined && <option value="">choose one</option>}
        {receivers.map(r => (
          <option key={r.id} value={r.id}>
            {r.nickname}
          </option>
        ))}
      </select>
    </label>
  )
}
