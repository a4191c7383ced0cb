import { StatusShape } from '../ui/StatusMark.tsx'

/** Where work can hurt somebody or break something. */
export function Caution({ children }: { readonly children: string }) {
  return (
    <p className="dg-caution">
      <span className="ui-status">
        <StatusShape status="caution" />
      </span>
      <span>
        <strong>Caution. </strong>
        {children}
      </span>
    </p>
  )
}
