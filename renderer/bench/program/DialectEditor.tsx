import { useEffect, useId, useRef, useState } from 'react'
import { dialectJsonSchema, MOST_DIALECT_CHARACTERS, readDialect } from '../../../shared/dialect/schema.ts'
import type { Problem } from '../../../shared/model/problem.ts'
import { Button } from '../../ui/Button.tsx'
import { Notice, ProblemList, problemsOf } from '../../ui/Notice.tsx'
import { saveText } from '../../ui/save-text.ts'
import { Ask } from './Ask.tsx'
import type { ProgramClient } from './client.ts'
import type { WriteDesk } from './desk.ts'
import { ExchangeTest } from './ExchangeTest.tsx'
import { NEW_DIALECT } from './new-dialect.ts'
import { selectLine } from './select-line.ts'
import { dropInto, type TakenFile, TextFile } from './TextFile.tsx'
import type { DialectsDesk } from './use-dialects.ts'

interface DialectEditorProps {
  readonly client: ProgramClient
  readonly writes: WriteDesk
  readonly desk: DialectsDesk
  /** Undefined for a new one. */
  readonly name: string | undefined
  /** What has been typed before another view was looked at. */
  readonly typed: string | undefined
  /** The exchange that it is tested against, kept in the same way. */
  readonly exchange: string
  readonly onType: (typed: { readonly text: string } | { readonly exchange: string }) => void
  readonly onSaved: (name: string, text: string) => void
  readonly onClose: () => void
}

/** The text of a dialect beside its test. */
export function DialectEditor(props: DialectEditorProps) {
  const { desk, name, onClose } = props
  const listed = desk.dialects.find(one => one.name === name)
  const { kept, problems } = useText(desk, name)
  const heading = useRef<HTMLHeadingElement>(null)
  // The button that led here is gone.
  useEffect(() => {
    heading.current?.focus({ preventScroll: true })
    heading.current?.scrollIntoView({ block: 'nearest' })
  }, [])
  return (
    <section className="pg-editor" aria-labelledby="pg-editor">
      <header className="pg-editor-head">
        <div>
          <h2 id="pg-editor" ref={heading} tabIndex={-1}>
            {listed?.title ?? 'A new dialect'}
          </h2>
          <p className="pg-soft">
            {listed === undefined || listed.from === 'file'
              ? 'A receiver’s documented boot loader as data. Test it against a recorded or typed exchange before anything real hears it.'
              : 'It comes with the workbench. Changed, it is kept as a file of your own, under a name of its own.'}
          </p>
        </div>
      </header>
      {problems.length > 0 && <ProblemList problems={problems} />}
      {kept === null && (
        <p>
          The Preflash bus is no data: the same procedure that the Rehearse view carries out speaks it, frame
          by frame.
        </p>
      )}
      {typeof kept === 'string' ? (
        <Text {...props} kept={kept} listed={listed} />
      ) : (
        <div>
          <Button onClick={onClose}>Back</Button>
        </div>
      )}
    </section>
  )
}

function useText(desk: DialectsDesk, name: string | undefined) {
  const [got, setGot] = useState<{ kept: string | null | undefined; problems: readonly Problem[] }>({
    kept: name === undefined ? NEW_DIALECT : undefined,
    problems: [],
  })
  const { read } = desk
  // biome-ignore lint/correctness/useExhaustiveDependencies: it is read once; what is typed here is newer from then on
  useEffect(() => {
    if (name === undefined) return
    let isCurrent = true
    read(name).then(
      kept => isCurrent && setGot({ kept, problems: [] }),
      error => isCurrent && setGot({ kept: undefined, problems: problemsOf(error) }),
    )
    return () => {
      isCurrent = false
    }
  }, [name])
  return got
}

/** The title of the file of this name, if there is one. */
const nameOf = ({ dialects }: DialectsDesk, name: string): string | undefined =>
  dialects.find(one => one.name === name && one.from === 'file')?.title

/** For text editors that check a file while it is written. */
const schemaText = (): string => `${JSON.stringify(dialectJsonSchema(), null, 2)}\n`

/** What is to be done about it is to go on typing, not to open a file. */
const hereOnly = (problem: Problem): Problem => ({ ...problem, remedy: undefined })

interface TextProps extends Omit<DialectEditorProps, 'name'> {
  readonly kept: string
  readonly listed: DialectsDesk['dialects'][number] | undefined
}

function Text(props: TextProps) {
  const { desk, client, writes, kept, listed, typed, exchange, onType, onSaved, onClose } = props
  const text = typed ?? kept
  const [problems, setProblems] = useState<readonly Problem[]>([])
  const [saved, setSaved] = useState<string>()
  const [asking, setAsking] = useState<'close' | 'remove' | 'replace'>()
  const id = useId()
  const area = useRef<HTMLTextAreaElement>(null)
  const hasChanged = text !== kept && text !== saved
  const fileName = listed?.from === 'file' ? `${listed.name}.json` : 'The text above'
  const dialect = readDialect(text, fileName)
  const wrongLine = dialect.ok ? undefined : dialect.problems[0]?.line
  // Another one of that name would be gone.
  const other =
    dialect.ok && dialect.value.name !== listed?.name ? nameOf(desk, dialect.value.name) : undefined
  const take = (taken: TakenFile) => {
    if (taken.ok) onType({ text: taken.text })
    setProblems(taken.ok ? [] : [taken.problem])
  }
  const save = async () => {
    setAsking(undefined)
    try {
      const { name } = await desk.save(text)
      setSaved(text)
      setProblems([])
      onSaved(name, text)
    } catch (error) {
      setProblems(problemsOf(error))
    }
  }
  const remove = async () => {
    if (listed === undefined) return
    try {
      await desk.remove(listed.name)
      onClose()
    } catch (error) {
      setProblems(problemsOf(error))
    }
  }
  return (
    <>
      <div className="pg-editor-halves">
        <div className="pg-editor-text">
          <div className="pg-text-head">
            <label htmlFor={id}>The dialect</label>
            <TextFile
              mostOctets={4 * MOST_DIALECT_CHARACTERS}
              accept=".json,application/json"
              label="File to open as a dialect"
              openWords="Open a file…"
              onTaken={take}
            >
              <Button
                kind="quiet"
                onClick={() => saveText(`${dialect.ok ? dialect.value.name : 'dialect'}.dialect.json`, text)}
              >
                Save as a file…
              </Button>
              <Button kind="quiet" onClick={() => saveText('preflash-dialect.schema.json', schemaText())}>
                Save the schema…
              </Button>
            </TextFile>
          </div>
          <textarea
            ref={area}
            id={id}
            className="ui-input mono"
            spellCheck={false}
            value={text}
            aria-invalid={!dialect.ok}
            aria-describedby={`${id}-wrong`}
            onChange={e => onType({ text: e.target.value })}
            {...dropInto(4 * MOST_DIALECT_CHARACTERS, take)}
          />
          <div id={`${id}-wrong`} className="pg-editor-wrong">
            {dialect.ok ? (
              <p className="pg-small pg-soft">
                It is a readable dialect.
                {!hasChanged && saved === undefined && ' Once something in it is changed, it can be kept.'}
              </p>
            ) : (
              <>
                <ProblemList problems={dialect.problems.map(hereOnly)} />
                {wrongLine !== undefined && (
                  <Button onClick={() => area.current && selectLine(area.current, wrongLine)}>
                    Show line {wrongLine}
                  </Button>
                )}
              </>
            )}
          </div>
        </div>
        <ExchangeTest
          dialect={dialect.ok ? dialect.value : undefined}
          client={client}
          writes={writes}
          text={exchange}
          onType={typedThere => onType({ exchange: typedThere })}
        />
      </div>
      {problems.length > 0 && <ProblemList problems={problems} onClose={() => setProblems([])} />}
      {saved !== undefined && !hasChanged && (
        <Notice kind="good">It is kept in the data folder, and chosen.</Notice>
      )}
      <div className="app-buttons">
        <Button
          kind="primary"
          disabled={!dialect.ok || !hasChanged}
          onClick={() => (other === undefined ? save() : setAsking('replace'))}
        >
          Keep it
        </Button>
        <Button onClick={() => (hasChanged ? setAsking('close') : onClose())}>Back</Button>
        {listed?.from === 'file' && (
          <Button kind="quiet" onClick={() => setAsking('remove')}>
            Remove this dialect
          </Button>
        )}
      </div>
      {asking === 'close' && (
        <Ask
          question="What you have typed is not kept yet."
          yes="Go back without it"
          onYes={onClose}
          onNo={() => setAsking(undefined)}
        />
      )}
      {asking === 'replace' && (
        <Ask
          question={`There is a dialect of this name already: “${other}”. It would be replaced.`}
          yes="Replace it"
          onYes={save}
          onNo={() => setAsking(undefined)}
        />
      )}
      {asking === 'remove' && (
        <Ask
          question="Remove this dialect from the data folder?"
          yes="Remove it"
          onYes={remove}
          onNo={() => setAsking(undefined)}
        />
      )}
    </>
  )
}
