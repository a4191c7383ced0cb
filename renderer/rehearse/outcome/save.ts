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

/** @param what name and ending: `report.json` gives `rehearsal-wren-trainer-cable-seed-1-report.json` */
export const fileNameFor = (
  report: { receiver: { id: string }; route: string; seed: number },
  what: string,
): string => `rehearsal-${report.receiver.id}-${report.route}-seed-${report.seed}-${what}`
