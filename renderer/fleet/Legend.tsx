import { StatusMark } from '../ui/StatusMark.tsx'
import { CellMark } from './Matrix.tsx'

/** What the marks of the matrix mean. */
export function Legend() {
  return (
    <ul className="fleet-legend" aria-label="Marks">
      <li>
        <StatusMark status="good">bound and in step</StatusMark>
      </li>
      <li>
        <StatusMark status="danger">bound, out of step</StatusMark>
      </li>
      <li>
        <StatusMark status="unknown">bound, not known</StatusMark>
      </li>
      <li>
        <CellMark cell={{ bound: false, step: 'in-step', because: undefined }} />
        <span aria-hidden="true">would bind</span>
      </li>
      <li>
        <CellMark cell={{ bound: false, step: 'out-of-step', because: undefined }} />
        <span aria-hidden="true">would not bind</span>
      </li>
    </ul>
  )
}
