import { type DragEvent, type ReactNode, type RefObject, useRef } from 'react'
import type { Problem } from '../../../shared/model/problem.ts'
import { Button } from '../../ui/Button.tsx'

export type TakenFile =
  | { readonly ok: true; readonly text: string; readonly fileName: string }
  | { readonly ok: false; readonly problem: Problem }

/**
 * Reads a file that the person chose or dropped.
 * @param mostOctets a larger one is refused before it is read
 */
export async function readTextFile(file: File, mostOctets: number): Promise<TakenFile> {
  const bad = (code: string, message: string, expected?: string): TakenFile => ({
    ok: false,
    problem: {
      code,
      file: file.name,
      message,
      expected,
      remedy: 'Choose another file. Nothing here was changed.',
    },
  })
  if (file.size > mostOctets)
    return bad('file.too-large', `The file has ${file.size} octets.`, `a text of at most ${mostOctets}`)
  try {
    const octets = await file.arrayBuffer()
    const text = new TextDecoder('utf-8', { fatal: true }).decode(octets)
    return { ok: true, text, fileName: file.name }
  } catch (error) {
    return error instanceof TypeError
      ? bad('file.no-text', 'The file is no text in UTF-8.', 'a text file')
      : bad('file.unreadable', 'The file cannot be read.')
  }
}

interface TextFileProps {
  readonly mostOctets: number
  readonly accept: string
  /** Of the choice of a file itself, which only the button opens. */
  readonly label: string
  readonly openWords: string
  readonly onTaken: (taken: TakenFile) => void
  /** What else can be done with the text. */
  readonly children?: ReactNode
}

/** Opens a file into a text; `dropInto` does so with one that is dropped on it. */
export function TextFile({ mostOctets, accept, label, openWords, onTaken, children }: TextFileProps) {
  const input = useRef<HTMLInputElement>(null)
  return (
    <div className="pg-text-file">
      <Button kind="quiet" onClick={() => input.current?.click()}>
        {openWords}
      </Button>
      {children}
      <FileInput
        inputRef={input}
        {...{ accept, label }}
        onFile={async file => onTaken(await readTextFile(file, mostOctets))}
      />
    </div>
  )
}

interface FileInputProps {
  readonly inputRef: RefObject<HTMLInputElement | null>
  readonly accept: string
  readonly label: string
  readonly onFile: (file: File) => void
}

const FileInput = ({ inputRef, accept, label, onFile }: FileInputProps) => (
  <input
    ref={inputRef}
    type="file"
    hidden
    accept={accept}
    aria-label={label}
    onChange={event => {
      const [file] = event.target.files ?? []
      // The same file can be chosen again, once it was mended.
      event.target.value = ''
      if (file) onFile(file)
    }}
  />
)

/** For a text that takes a dropped file; one that is dropped beside it goes to the window. */
export const dropInto = (mostOctets: number, onTaken: (taken: TakenFile) => void) => ({
  onDragOver: (event: DragEvent) => {
    if (event.dataTransfer.types.includes('Files')) event.preventDefault()
  },
  onDrop: async (event: DragEvent) => {
    const [file] = event.dataTransfer.files
    if (file === undefined) return
    event.preventDefault()
    onTaken(await readTextFile(file, mostOctets))
  },
})
