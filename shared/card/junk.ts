/** Files that desktop systems leave on cards without being asked. Common practice, no source. */

export interface Junk {
  readonly from: 'macOS' | 'Windows' | 'a Linux desktop'
  readonly what: string
}

const EXACT: Readonly<Record<string, Junk>> = {
  '.ds_store': { from: 'macOS', what: 'how a folder was last shown' },
  '.trashes': { from: 'macOS', what: 'its waste basket' },
  '.spotlight-v100': { from: 'macOS', what: 'its search index' },
  '.fseventsd': { from: 'macOS', what: 'its list of changes' },
  '.temporaryitems': { from: 'macOS', what: 'temporary files' },
  '.documentrevisions-v100': { from: 'macOS', what: 'old versions of documents' },
  '.apdisk': { from: 'macOS', what: 'sharing settings' },
  '.volumeicon.icns': { from: 'macOS', what: 'a picture for the volume' },
  'thumbs.db': { from: 'Windows', what: 'small pictures of a folder' },
  'desktop.ini': { from: 'Windows', what: 'how a folder is shown' },
  '$recycle.bin': { from: 'Windows', what: 'its waste basket' },
  recycler: { from: 'Windows', what: 'its waste basket' },
  'system volume information': { from: 'Windows', what: 'its own records of the volume' },
  '.directory': { from: 'a Linux desktop', what: 'how a folder is shown' },
}

/**
 * Whether a file or folder is one that a desktop system left, and which.
 * @param name without its folder
 */
export function junkOf(name: string): Junk | undefined {
  const lower = name.toLowerCase()
  if (Object.hasOwn(EXACT, lower)) return EXACT[lower]
  if (lower.startsWith('._')) return { from: 'macOS', what: 'the shadow of another file' }
  if (/^\.trash-\d+$/.test(lower)) return { from: 'a Linux desktop', what: 'its waste basket' }
  return undefined
}
