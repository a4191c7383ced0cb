import { useEffect, useRef } from 'react'
import { Button } from '../../ui/Button.tsx'
import './ask.css'

interface AskProps {
  readonly question: string
  readonly yes: string
  readonly no?: string
  readonly onYes: () => void
  readonly onNo: () => void
}

/**
 * A question in place, before something that cannot be taken back. The keyboard is on the answer that changes nothing,
 * and the second click of a double click is no answer.
 */
export function Ask({ question, yes, no = 'No, stay here', onYes, onNo }: AskProps) {
  const leave = useRef(onNo)
  useEffect(() => {
    leave.current = onNo
  })
  useEffect(() => {
    const onKey = (event: KeyboardEvent) => {
      if (event.key !== 'Escape' || event.defaultPrevented) return
      event.preventDefault()
      leave.current()
    }
    document.addEventListener('keydown', onKey)
    return () => document.removeEventListener('keydown', onKey)
  }, [])
  return (
    <div className="pg-ask" role="alertdialog" aria-label={question}>
      <p>{question}</p>
      <div className="app-buttons">
        <Button kind="danger" onClick={event => event.detail < 2 && onYes()}>
          {yes}
        </Button>
        <Button autoFocus onClick={onNo}>
          {no}
        </Button>
      </div>
    </div>
  )
}
