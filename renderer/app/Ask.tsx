import { type ReactNode, useEffect, useRef } from 'react'
import { Button } from '../ui/Button.tsx'

export interface AskProps {
  readonly title: string
  readonly children?: ReactNode
  readonly yes: string
  readonly no?: string
  readonly other?: { readonly label: string; readonly onChoose: () => void }
  readonly onYes: () => void
  readonly onNo: () => void
}

/** One question that has to be answered before going on. Escape means no. */
export function Ask({ title, children, yes, no = 'Cancel', other, onYes, onNo }: AskProps) {
  const dialog = useRef<HTMLDialogElement>(null)
  useEffect(() => {
    const shown = dialog.current
    shown?.showModal()
    return () => shown?.close()
  }, [])
  return (
    <dialog ref={dialog} className="ask-dialog" aria-labelledby="ask-title" onCancel={onNo}>
      <form
        className="ask"
        onSubmit={e => {
          e.preventDefault()
          onYes()
        }}
      >
        <h2 id="ask-title">{title}</h2>
        {children}
        <div className="ask-buttons">
          <Button onClick={onNo}>{no}</Button>
          {other && <Button onClick={other.onChoose}>{other.label}</Button>}
          <Button type="submit" kind="primary">
            {yes}
          </Button>
        </div>
      </form>
    </dialog>
  )
}
