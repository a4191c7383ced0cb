import { type ReactNode, useEffect, useId, useRef } from 'react'
import './pieces.css'

export interface DialogProps {
  readonly title: string
  /** One sentence below the title. */
  readonly lead?: ReactNode
  readonly children: ReactNode
  /** Buttons, from left to right; `type="submit"` submits. */
  readonly foot: ReactNode
  readonly wide?: boolean
  readonly onClose: () => void
  /** Makes the dialog a form. */
  readonly onSubmit?: () => void
}

/**
 * A modal dialog: the browser keeps the focus inside, Escape closes it, and the focus returns to where it was.
 */
export function Dialog({ title, lead, children, foot, wide, onClose, onSubmit }: DialogProps) {
  const dialog = useRef<HTMLDialogElement>(null)
  const titleId = useId()
  useEffect(() => {
    const shown = dialog.current
    const before = document.activeElement
    if (shown && !shown.open) shown.showModal()
    return () => {
      shown?.close()
      if (before instanceof HTMLElement && before.isConnected) before.focus()
    }
  }, [])
  const inside = (
    <>
      <header className="ui-dialog-head">
        <h2 id={titleId}>{title}</h2>
        {lead && <p>{lead}</p>}
      </header>
      <div className="ui-dialog-body">{children}</div>
      <footer className="ui-dialog-foot">{foot}</footer>
    </>
  )
  return (
    <dialog
      ref={dialog}
      className={wide ? 'ui-dialog ui-dialog-wide' : 'ui-dialog'}
      aria-labelledby={titleId}
      onCancel={event => {
        event.preventDefault()
        onClose()
      }}
      onClose={() => {
        // A second Escape closes it whatever the page says; whoever keeps it has it open again.
        if (dialog.current === null || dialog.current.open) return
        onClose()
        setTimeout(() => {
          if (dialog.current && !dialog.current.open) dialog.current.showModal()
        })
      }}
    >
      {onSubmit ? (
        <form
          noValidate
          onSubmit={event => {
            event.preventDefault()
            onSubmit()
          }}
        >
          {inside}
        </form>
      ) : (
        <div className="ui-dialog-frame">{inside}</div>
      )}
    </dialog>
  )
}
