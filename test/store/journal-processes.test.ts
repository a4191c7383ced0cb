import { type ChildProcess, spawn } from 'node:child_process'
import { join } from 'node:path'
import { expect, it, onTestFinished } from 'vitest'
import { projectRoot } from '../../main/scripts/build.mjs'
import { emptyFolder, openJournal } from '../support/journal.ts'

/** The child of journal-child.ts, and what it has said so far. */
function writer(folder: string, count: number) {
  const child: ChildProcess = spawn(
    process.execPath,
    ['--import', 'tsx', join(projectRoot, 'test', 'support', 'journal-child.ts'), folder, String(count)],
    { cwd: projectRoot, stdio: ['ignore', 'pipe', 'pipe'] },
  )
  onTestFinished(() => {
    child.kill('SIGKILL')
  })
  let said = ''
  let complaints = ''
  const waiting = new Set<() => void>()
  child.stdout?.setEncoding('utf8').on('data', text => {
    said += text
    for (const look of [...waiting]) look()
  })
  child.stderr?.setEncoding('utf8').on('data', text => {
    complaints += text
  })
  const ended = new Promise<number | null>(done => child.on('close', done))
  /** Lines that are whole: a line cut off was not acknowledged. */
  const lines = () => said.split('\n').slice(0, -1)
  return {
    child,
    ended,
    lines,
    complaints: () => complaints,
    hasSaid: (most: number) =>
      new Promise<void>((done, refuse) => {
        const look = () => {
          if (lines().length < most) return
          waiting.delete(look)
          done()
        }
        waiting.add(look)
        void ended.then(() => refuse(new Error(`ended early: ${complaints}`)))
        look()
      }),
  }
}

const texts = (journal: Awaited<ReturnType<typeof openJournal>>, id: string): string[] =>
  journal.session(id).events.map(({ event }) => ('text' in event ? (event.text ?? '') : ''))
const numbered = (count: number) => Array.from({ length: count }, (_, i) => `event ${i + 1}`)

it('several processes begin one logbook and write at once: no event is lost, none is in another’s place', async () => {
  const folder = emptyFolder()
  const writers = [writer(folder, 100), writer(folder, 100), writer(folder, 100)]
  const codes = await Promise.all(writers.map(w => w.ended))
  expect(writers.map(w => w.complaints()).join('')).toBe('')
  expect(codes).toEqual([0, 0, 0])
  const journal = await openJournal(folder)
  expect(journal.problem).toBeUndefined()
  expect(journal.sessions().sessions).toHaveLength(3)
  for (const { lines } of writers) expect(texts(journal, lines()[0])).toEqual(numbered(100))
})

it('a process that is killed in the middle leaves every event that it was told of, and an interrupted session', async () => {
  const folder = emptyFolder()
  const here = await openJournal(folder)
  for (const most of [2, 20, 57]) {
    const killed = writer(folder, 0)
    const other = writer(folder, 40)
    await killed.hasSaid(most)
    expect(here.interrupted().map(s => s.id)).not.toContain(killed.lines()[0])
    killed.child.kill('SIGKILL')
    await killed.ended
    expect(await other.ended).toBe(0)
    const [id, ...acknowledged] = killed.lines()
    const kept = texts(here, id)
    // One more may have been committed and not been told of any more.
    expect(kept).toEqual(numbered(kept.length))
    expect(kept.length - acknowledged.length).toBeGreaterThanOrEqual(0)
    expect(kept.length - acknowledged.length).toBeLessThanOrEqual(1)
    expect(here.interrupted().map(s => s.id)).toEqual([id])
    here.end(id, { ending: 'interrupted' })
    expect(texts(here, other.lines()[0])).toEqual(numbered(40))
  }
}, 60_000)
