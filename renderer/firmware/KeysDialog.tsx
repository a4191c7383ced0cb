import { useCallback, useEffect, useId, useRef, useState } from 'react'
import { keyWords, type TrustedKey } from '../../shared/image/signature.ts'
import type { Problem } from '../../shared/model/problem.ts'
import { Button } from '../ui/Button.tsx'
import { Dialog } from '../ui/Dialog.tsx'
import { TextField } from '../ui/Field.tsx'
import { problemsOf } from '../ui/Notice.tsx'
import { Problems } from './Problems.tsx'
import type { LibraryClient } from './use-library.ts'

export interface KeysDialogProps {
  readonly client: LibraryClient
  readonly onClose: () => void
}

interface Done {
  readonly text: string
  readonly undo?: () => void
}

/** The makers' keys by which signatures are judged: whose, since when, and how to compare them. */
export function KeysDialog({ client, onClose }: KeysDialogProps) {
  const { keys, problems, done, remove, add, importFile } = useKeys(client)
  return (
    <Dialog
      title="Makers’ keys"
      lead="An image that is signed with one of these keys is proved to come from its maker, unchanged. A key is worth as much as the way you got it: compare its words with those on the maker’s own page."
      wide
      onClose={onClose}
      foot={
        <Button kind="primary" onClick={onClose}>
          Close
        </Button>
      }
    >
      <Problems problems={problems.filter(problem => fieldOf(problem) === undefined)} />
      <p className="fw-done" role="status">
        {done?.text}{' '}
        {done?.undo && (
          <Button kind="quiet" onClick={done.undo}>
            Take it back
          </Button>
        )}
      </p>
      <KeyTable keys={keys} onRemove={remove} />
      <AddKey problems={problems} onAdd={add} onFile={importFile} />
    </Dialog>
  )
}

function KeyTable({
  keys,
  onRemove,
}: {
  keys: readonly TrustedKey[] | undefined
  onRemove: (key: TrustedKey) => void
}) {
  if (keys === undefined) return null
  if (keys.length === 0) return <p className="fw-soft">No key is trusted yet.</p>
  return (
    <table className="fw-keys" aria-label="Trusted keys">
      <thead>
        <tr>
          <th scope="col">Maker</th>
          <th scope="col">Key</th>
          <th scope="col">Words to compare</th>
          <th scope="col">Since</th>
          <th scope="col">
            <span className="fw-unseen">Remove</span>
          </th>
        </tr>
      </thead>
      <tbody>
        {keys.map(key => (
          <tr key={key.keyId}>
            <td>{key.maker}</td>
            <td>{key.keyId}</td>
            <td>
              <code title={key.publicKey}>{keyWords(key.publicKey)}</code>
            </td>
            <td>{key.added.slice(0, 10)}</td>
            <td>
              <Button kind="danger" aria-label={`Remove the key ${key.keyId}`} onClick={() => onRemove(key)}>
                Remove
              </Button>
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  )
}

const EMPTY = { maker: '', keyId: '', publicKey: '' }
type Typed = typeof EMPTY

/** The field of the form that a problem is about; a file's problems are about the file. */
const fieldOf = ({ file, field }: Problem): keyof Typed | undefined =>
  file === undefined && field !== undefined && field in EMPTY ? (field as keyof Typed) : undefined

const fieldErrors = (problems: readonly Problem[]): Partial<Record<keyof Typed, string>> =>
  Object.fromEntries(
    problems.flatMap(problem => {
      const field = fieldOf(problem)
      const { message, expected } = problem
      return field === undefined ? [] : [[field, expected ? `${message} Expected: ${expected}.` : message]]
    }),
  )

interface AddKeyProps {
  readonly problems: readonly Problem[]
  /** @returns whether it was added */
  readonly onAdd: (typed: Typed) => Promise<boolean>
  readonly onFile: (file: File) => void
}

function AddKey({ problems, onAdd, onFile }: AddKeyProps) {
  const [typed, setTyped] = useState(EMPTY)
  const input = useRef<HTMLInputElement>(null)
  const id = useId()
  const errors = fieldErrors(problems)
  const set = (part: Partial<Typed>) => setTyped(before => ({ ...before, ...part }))
  return (
    <form
      className="fw-add-key"
      aria-labelledby={id}
      noValidate
      onSubmit={event => {
        event.preventDefault()
        void onAdd(typed).then(isAdded => isAdded && setTyped(EMPTY))
      }}
    >
      <h3 id={id}>Add a key</h3>
      <div className="fw-add-key-pair">
        <TextField
          label="Maker"
          hint="As image cards and types name it."
          error={errors.maker}
          value={typed.maker}
          onChange={maker => set({ maker })}
        />
        <TextField
          label="Name of the key"
          hint="Image cards refer to it by this name."
          error={errors.keyId}
          value={typed.keyId}
          onChange={keyId => set({ keyId })}
        />
      </div>
      <TextField
        label="Public key"
        hint="64 hexadecimal digits; blanks and colons do not matter."
        error={errors.publicKey}
        value={typed.publicKey}
        onChange={publicKey => set({ publicKey })}
      />
      <p className="fw-add-key-tools">
        <Button type="submit">Add this key</Button>
        <Button kind="quiet" onClick={() => input.current?.click()}>
          Add from a file…
        </Button>
      </p>
      <input
        ref={input}
        type="file"
        hidden
        accept=".json,application/json"
        aria-label="A file of keys"
        onChange={event => {
          const file = event.target.files?.[0]
          event.target.value = ''
          if (file !== undefined) onFile(file)
        }}
      />
    </form>
  )
}

const MOST_FILE_CHARACTERS = 200_000
const plural = (count: number, one: string) => `${count} ${one}${count === 1 ? '' : 's'}`

/** What the dialog knows and does; each change is told with the way back where there is one. */
function useKeys(client: LibraryClient) {
  const [keys, setKeys] = useState<readonly TrustedKey[]>()
  const [problems, setProblems] = useState<readonly Problem[]>([])
  const [done, setDone] = useState<Done>()
  const attempt = useCallback(async (work: () => Promise<Done | undefined>): Promise<boolean> => {
    try {
      setDone(await work())
      setProblems([])
      return true
    } catch (error) {
      setDone(undefined)
      setProblems(problemsOf(error))
      return false
    }
  }, [])
  useEffect(() => {
    client.call('keys.list', {}).then(
      ({ keys: listed, problem }) => {
        setKeys(listed)
        setProblems(problem ? [problem] : [])
      },
      error => setProblems(problemsOf(error)),
    )
  }, [client])
  const add = (typed: Typed & Partial<TrustedKey>) =>
    attempt(async () => {
      const { keys: now } = await client.call('keys.add', typed)
      setKeys(now)
      return { text: `The key ${typed.keyId.trim()} is trusted now.` }
    })
  const remove = (key: TrustedKey) =>
    void attempt(async () => {
      const { keys: now, removed } = await client.call('keys.remove', { keyId: key.keyId })
      setKeys(now)
      return { text: `The key ${key.keyId} is no longer trusted.`, undo: () => void add(removed) }
    })
  const importFile = (file: File) =>
    void attempt(async () => {
      // A longer file is cut: it is too long to be a list of keys, and the machine says so.
      const text = await file.slice(0, MOST_FILE_CHARACTERS + 1).text()
      const read = await client.call('keys.import', { fileName: file.name, text })
      setKeys(read.keys)
      const known = read.known > 0 ? ` ${plural(read.known, 'key')} had been there already.` : ''
      return { text: `${plural(read.added.length, 'key')} added.${known}` }
    })
  return { keys, problems, done, add, remove, importFile }
}
