/** Hands a text to the person as a file to keep. */
export function saveText(fileName: string, text: string, type = 'application/json'): void {
  const url = URL.createObjectURL(new Blob([text], { type }))
  const link = document.createElement('a')
  link.href = url
  link.download = fileName
  document.body.append(link)
  link.click()
  link.remove()
  // Revoked too early, the download would find nothing.
  setTimeout(() => URL.revokeObjectURL(url), 10_000)
}
