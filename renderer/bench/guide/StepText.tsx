import { type ReactNode, useEffect, useRef, useState } from 'react'

/** What a step says, above the answers. Where it does not fit it scrolls, by keyboard too. */
export function StepText({ children }: { readonly children: ReactNode }) {
  const box = useRef<HTMLDivElement>(null)
  const isTall = useIsTall(box)
  return (
    <div
      ref={box}
      className="gd-words"
      {...(isTall ? { tabIndex: 0, role: 'group', 'aria-label': 'The step' } : {})}
    >
      {children}
    </div>
  )
}

/** Whether there is more in it than is seen: what does not scroll is no stop for the Tab key. */
function useIsTall(box: React.RefObject<HTMLElement | null>): boolean {
  const [isTall, setTall] = useState(false)
  // Not told when: what stands in it changes with every answer.
  useEffect(() => {
    const { current } = box
    if (current === null) return
    const look = () => setTall(current.scrollHeight > current.clientHeight + 1)
    look()
    const observer = new ResizeObserver(look)
    observer.observe(current)
    for (const child of current.children) observer.observe(child)
    return () => observer.disconnect()
  })
  return isTall
}
