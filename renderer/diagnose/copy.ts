/**
 * Puts a text on the clipboard. The desktop shell grants no permission, not even this one, so there the old way is
 * gone, which needs none while somebody presses a button.
 */
export async function copyText(text: string): Promise<boolean> {
  try {
    await navigator.clipboard.writeText(text)
    return true
  } catch {
    return copySelected(text)
  }
}

function copySelected(text: string): boolean {
  const before = document.activeElement
  const area = document.createElement('textarea')
  area.value = text
  area.className = 'visually-hidden'
  document.body.append(area)
  area.select()
  const isDone = document.execCommand('copy')
  area.remove()
  if (before instanceof HTMLElement) before.focus()
  return isDone
}
