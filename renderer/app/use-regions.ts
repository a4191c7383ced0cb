import { useEffect } from 'react'

/** The parts of the window, in the order in which F6 walks them. */
const REGIONS = 'header.app-top, nav.app-edge, main.app-view, main.app-view aside, .app-notices'
const FOCUSABLE =
  '[aria-current]:not(:disabled), button:not(:disabled), a[href], input:not(:disabled), select:not(:disabled), [tabindex="0"]'

const isShown = (element: Element) => element.getClientRects().length > 0

/** The innermost region that holds the focus. */
const regionOf = (regions: readonly Element[], focused: Element | null) =>
  regions.findLastIndex(region => region.contains(focused))

/** Puts the focus where work in this region begins: on the region itself, or what is current in it, or its first. */
function enter(region: Element): boolean {
  const inside = [...region.querySelectorAll<HTMLElement>(FOCUSABLE)].filter(isShown)
  const current = inside.find(element => element.matches('[aria-current], [aria-selected="true"]'))
  const target = region.matches('[tabindex="-1"]') ? (region as HTMLElement) : (current ?? inside[0])
  target?.focus()
  return target !== undefined
}

/** F6 goes to the next part of the window and Shift+F6 to the one before, as in other desktop programs. */
export function useRegions(): void {
  useEffect(() => {
    const onKey = (event: KeyboardEvent) => {
      if (event.key !== 'F6' || event.ctrlKey || event.metaKey || event.altKey) return
      if (document.querySelector('dialog:modal') !== null) return
      event.preventDefault()
      const regions = [...document.querySelectorAll(REGIONS)].filter(isShown)
      const step = event.shiftKey ? -1 : 1
      let at = regionOf(regions, document.activeElement)
      if (at < 0 && step < 0) at = 0
      for (let tried = 0; tried < regions.length; tried++) {
        at = (at + step + regions.length) % regions.length
        if (enter(regions[at])) return
      }
    }
    window.addEventListener('keydown', onKey)
    return () => window.removeEventListener('keydown', onKey)
  }, [])
}
