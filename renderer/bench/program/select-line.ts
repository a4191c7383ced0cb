/** Where a line begins and ends in a text, its break left out. @param line counted from 1; one past the end is the last */
export function rangeOfLine(text: string, line: number): readonly [number, number] {
  const lines = text.split('\n')
  const at = Math.min(Math.max(line, 1), lines.length) - 1
  const start = lines.slice(0, at).reduce((sum, one) => sum + one.length + 1, 0)
  return [start, start + lines[at].length]
}

/** Chooses a line in a text that is typed, and brings it into sight. */
export function selectLine(area: HTMLTextAreaElement, line: number): void {
  const [start, end] = rangeOfLine(area.value, line)
  area.setSelectionRange(start, end)
  area.focus({ preventScroll: true })
  area.scrollTop = heightOf(area, area.value.slice(0, start)) - area.clientHeight / 2
}

/** How high a text is where it stands: long lines are broken there, so that counting them does not do. */
function heightOf(area: HTMLTextAreaElement, text: string): number {
  const probe = document.createElement('textarea')
  probe.className = area.className
  probe.setAttribute('aria-hidden', 'true')
  probe.style.cssText = `position: absolute; visibility: hidden; width: ${area.offsetWidth}px; height: 0; min-height: 0;`
  probe.value = text
  area.after(probe)
  const { scrollHeight } = probe
  probe.remove()
  return scrollHeight
}
