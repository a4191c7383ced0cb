import type { Alike, LibraryEntry } from '../../shared/library/entry.ts'

/** Says which images of the library are the same program. */

type Named = Pick<LibraryEntry, 'id' | 'fileName' | 'format' | 'alike'>

export const formatWords: Readonly<Record<LibraryEntry['format'], string>> = {
  raw: 'raw binary',
  'intel-hex': 'Intel HEX',
  's-record': 'Motorola S-record',
  uf2: 'UF2',
}

const octets = (count: number): string => `${count.toLocaleString('en')} ${count === 1 ? 'octet' : 'octets'}`

function sayOne(own: Named, other: Named, { likeness, moved, differing }: Alike): string {
  const name = `The same program as ${other.fileName}`
  const container = own.format === other.format ? '' : ', in another container'
  const place = moved && container === '' ? ', for another address' : container
  switch (likeness) {
    case 'moved':
      return `${name}${place}.`
    case 'padded':
      return `${name}${place}; it differs only in the filling at its ends, ${octets(differing)} more or fewer.`
    case 'refilled':
      return `${name}${place}; it differs only in the filling of unused memory, ${octets(differing)}.`
  }
}

/** A sentence for each image of the library that is the same program but for what does not matter. */
export function sayAlike(entry: Named, byId: ReadonlyMap<string, Named>): string[] {
  return (entry.alike ?? []).flatMap(alike => {
    const other = byId.get(alike.id)
    return other === undefined ? [] : [sayOne(entry, other, alike)]
  })
}

/** A sentence for each other file in which the very same image came. */
export const sayOtherFiles = ({ format, alsoAs = [] }: Pick<LibraryEntry, 'format' | 'alsoAs'>): string[] =>
  alsoAs.map(
    other =>
      `It also came as ${other.fileName}${
        other.format === format ? '' : `, in another container (${formatWords[other.format]})`
      }.`,
  )
