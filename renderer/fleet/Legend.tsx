import { CellMark } from './Matrix.tsx'

/** What the marks of the matrix mean. */
export function Legend() {
  return (
    <ul className="fleet-legend" aria-label="Marks">
      <li>
        <CellMark cell={{ bound: true, step: 'in-step', because: undefined }} />
      </li>
      <li>
        <CellMark cell={{ bound: true, step: 'out-of-step', because: undefined }} />
      </li>
      <li>
        <CellMark cell={{ bound: true, step: 'not-known', because: undefined }} />
      </li>
      <li>
        <CellMark cell={{ bound: false, step: 'in-step', because: undefined }} />
        <span aria-hidden="true">would bind</span>
      </li>
      <li>
        <CellMark cell={{ bound: false, step: 'out-of-step', because: undefined }} />
        <span aria-hidden="true">would not</span>
      </li>
    </ul>
  )
}
