import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { Readable } from 'node:stream'
import { describe, expect, it } from 'vitest'
import { dataFolder } from '../../main/cli/data-folder.ts'
import { diagnoseCommand } from '../../main/cli/diagnose.ts'
import { BadInput } from '../../main/cli/ending.ts'
import { logCommand } from '../../main/cli/log.ts'
import { LOGBOOK_FILE } from '../../main/store/journal.ts'
import { sayProblem } from '../../shared/model/problem.ts'
import { preflash } from '../support/cli.ts'
import { emptyFolder, openJournal } from '../support/journal.ts'

/** The verb in this process. Ends with 2 for bad input, as the program does. */
async function log(folder: string, ...args: readonly string[]) {
  let code = -1
  let out = ''
  let err = ''
  const sink = (add: (text: string) => void) => ({ write: add })
  const command = logCommand(
    ending => {
      code = ending
    },
    {
      stdout: sink(text => {
        out += text
      }),
      stderr: sink(text => {
        err += text
      }),
    },
  )
  try {
    await command.exitOverride().parseAsync([...args, '--data', folder], { from: 'user' })
    return { code, out, err }
  } catch (error) {
    if (!(error instanceof BadInput)) throw error
    return { code: 2, out, err: err + error.problems.map(sayProblem).join('\n') }
  }
}

async function filled() {
  const folder = emptyFolder()
  const journal = await openJournal(folder, { owner: () => ({ pid: 2 ** 30, started: 'never' }) })
  const written = journal.begin({ kind: 'write', receiverId: 'heron', nickname: 'Heron', port: 'Blue' })
  journal.append(written, { kind: 'effect', effect: 'erase', text: 'Page 0 is about to be erased.' })
  journal.append(written, { kind: 'phase', phase: 'erase', attempt: 1 })
  journal.end(written, { ending: 'failed', outcome: 'needs-cable' })
  const lost = journal.begin({ kind: 'guided', receiverId: 'wren-trainer', nickname: '\u001b[31mWren\n' })
  journal.close()
  return { folder, written, lost }
}

describe('preflash log', () => {
  it('is empty where there is no logbook, and begins none', async () => {
    const folder = emptyFolder()
    expect(await log(folder)).toMatchObject({ code: 0, err: '' })
    expect(JSON.parse((await log(folder, '--json')).out)).toEqual({ sessions: [], next: null })
    expect(await log(folder, 'abc')).toMatchObject({ code: 2 })
    expect(existsSync(join(folder, LOGBOOK_FILE))).toBe(false)
  })

  it('does not take a file, or what lies in one, for the folder of its own files', async () => {
    const file = join(emptyFolder(), 'notes.txt')
    writeFileSync(file, 'mine')
    for (const named of [file, join(file, 'deeper')]) {
      const { code, err } = await log(named)
      expect(code).toBe(2)
      expect(err).toContain('--data')
    }
    expect(readFileSync(file, 'utf8')).toBe('mine')
  })

  it('lists sessions, the latest first, by receiver, kind and page', async () => {
    const { folder, written, lost } = await filled()
    const ids = async (...args: string[]) =>
      JSON.parse((await log(folder, '--json', ...args)).out).sessions.map((s: { id: string }) => s.id)
    expect(await ids()).toEqual([lost, written])
    expect(await ids('--receiver', 'heron')).toEqual([written])
    expect(await ids('--kind', 'guided')).toEqual([lost])
    expect(await ids('--limit', '1')).toEqual([lost])
    expect(await ids('--before', lost)).toEqual([written])
    expect(await ids('--interrupted')).toEqual([lost])
    const { out } = await log(folder, '--limit', '1')
    expect(out).toContain(`${lost}`)
    expect(out).toContain('not ended')
    expect(out).toContain(`--before ${lost}`)
    expect((await log(folder, '--kind', 'write')).out).toMatch(/Heron \(heron\): failed, needs-cable/)
  })

  it('lets nothing in the logbook steer the terminal', async () => {
    const { folder, lost } = await filled()
    expect((await log(folder)).out).not.toContain('\u001b')
    expect((await log(folder)).out.trimEnd().split('\n')).toHaveLength(2)
    expect((await log(folder, lost)).out).not.toContain('\u001b')
  })

  it('shows a session by its id or its beginning', async () => {
    const { folder, written } = await filled()
    const { code, out } = await log(folder, written)
    expect(code).toBe(0)
    expect(out).toContain('The receiver waits in its boot loader')
    expect(out).toMatch(/1 {2}.*about to erase: Page 0 is about to be erased\./)
    expect(out).toMatch(/2 {2}.*Erase, attempt 1/)
    expect(JSON.parse((await log(folder, written, '--json')).out).events).toHaveLength(2)
    expect((await log(folder, written.slice(0, -1))).out).toBe(out)
    // Both sessions began within the same minute.
    expect(await log(folder, written.slice(0, 4))).toMatchObject({
      code: 2,
      err: expect.stringMatching(/Several sessions begin with/),
    })
    expect(await log(folder, 'ffffffff')).toMatchObject({ code: 2, err: expect.stringMatching(/no session/) })
  })

  it('exports a session into a new file, and takes it over elsewhere once', async () => {
    const { folder, written } = await filled()
    const file = join(folder, 'session.json')
    expect(await log(folder, '--export', written, '--out', file)).toMatchObject({ code: 0, out: '', err: '' })
    expect((await log(folder, '--export', written)).out).toBe(readFileSync(file, 'utf8'))
    expect(await log(folder, '--export', written, '--out', file)).toMatchObject({
      code: 2,
      err: expect.stringMatching(/already/),
    })
    const other = emptyFolder()
    expect((await log(other, '--import', file)).out).toBe(`Taken over: ${written}\n`)
    expect((await log(other, '--import', file)).out).toBe(`It was in the logbook already: ${written}\n`)
    expect((await log(other, '--export', written)).out).toBe(readFileSync(file, 'utf8'))
    writeFileSync(file, readFileSync(file, 'utf8').replace('"seq": 2', '"seq": 7'))
    expect(await log(other, '--import', file)).toMatchObject({
      code: 2,
      err: expect.stringMatching(/session\.json, events\[1\]\.seq/),
    })
  })

  it.each([
    [['--limit', '0'], /--limit/],
    [['--kind', 'party'], /--kind/],
    [['--out', 'x.json'], /--out/],
    [['abc', '--interrupted'], /at once/],
    [['--before', 'ffff'], /--before.*no session/],
  ])('says what is wrong with %j', async (args, words) => {
    const { folder } = await filled()
    expect(await log(folder, ...args)).toMatchObject({ code: 2, err: expect.stringMatching(words) })
  })

  it('says where a damaged logbook was put, and lists the new one', async () => {
    const folder = emptyFolder()
    writeFileSync(join(folder, LOGBOOK_FILE), 'damaged')
    const { code, err } = await log(folder)
    expect(code).toBe(0)
    const aside = readdirSync(folder).find(name => /^logbook\.damaged-.*\.sqlite$/.test(name))
    expect(err).toContain(aside)
  })

  it('is a verb of the program, with a folder of its own', async () => {
    const { folder, lost } = await filled()
    const run = await preflash('log', '--data', folder, '--interrupted')
    expect(run).toMatchObject({ code: 0, err: '' })
    expect(run.out).toContain(lost)
    expect((await preflash('log', '--json')).out).toContain('"sessions": []')
  })
})

describe('preflash diagnose, with a logbook', () => {
  async function talk(folder: string, typed: readonly string[], ...args: readonly string[]) {
    let out = ''
    const stdout = {
      write(text: string) {
        out += text
      },
    }
    const command = diagnoseCommand(() => {}, {
      stdin: Readable.from(typed.map(line => `${line}\n`)),
      stdout,
    })
    await command.exitOverride().parseAsync([...args, '--data', folder], { from: 'user' })
    return out
  }
  const about = ['--symptom', 'stops', '--fact', 'with-another-cable=yes']
  const asJson = async (folder: string, ...args: string[]) =>
    JSON.parse(await talk(folder, [], ...about, '--json', ...args))

  /** Answers yes to looks and no to repairs until the second repair is offered, which then helps. */
  async function helped(folder: string): Promise<string> {
    const typed: string[] = []
    for (let repairs = 0; typed.length < 20; ) {
      const out = await talk(folder, [...typed, 'q'], ...about, '--no-log')
      if (/Has it helped\?[^\n]*> q\n/.test(out)) {
        repairs++
        typed.push(repairs === 2 ? 'y' : 'n')
        if (repairs === 2) break
      } else typed.push('c')
    }
    expect(typed.at(-1)).toBe('y')
    return talk(folder, typed, ...about)
  }

  it('writes down what has helped, and counts it in the next diagnosis unless told not to', async () => {
    const folder = join(emptyFolder(), 'made', 'when needed')
    expect(await asJson(folder)).toMatchObject({ counted: 0 })
    expect(existsSync(folder)).toBe(false)
    const out = await helped(folder)
    expect(out.replaceAll(/\s+/g, ' ')).toContain(`Written into the logbook, ${join(folder, LOGBOOK_FILE)}`)
    const [session] = JSON.parse((await log(folder, '--json')).out).sessions
    const { finding } = JSON.parse((await log(folder, session.id, '--json')).out)
    expect(session).toMatchObject({ kind: 'diagnosis', receiverId: 'wren-trainer', typeId: 'aldwick-wren-6' })
    expect(finding).toMatchObject({ symptom: 'stops', answers: { 'with-another-cable': 'yes' } })
    expect(finding.tried.length).toBeGreaterThan(0)
    expect(finding.causes.some((id: string) => finding.tried.includes(id))).toBe(false)
    expect(await asJson(folder)).toMatchObject({ counted: finding.isOneOf ? 0 : finding.causes.length })
    expect(await asJson(folder, '--no-log')).toMatchObject({ counted: 0 })
    expect((await log(folder, session.id)).out).toContain('It was')
  })

  it('still finds the cause where the logbook cannot be written', async () => {
    const folder = emptyFolder()
    mkdirSync(join(folder, LOGBOOK_FILE))
    const out = await helped(folder)
    expect(out.replaceAll(/\s+/g, ' ')).toContain('This is not in the logbook.')
  })
})

describe('dataFolder', () => {
  it('is what is named, even with a hyphen first', () => {
    expect(dataFolder('/tmp/x')).toBe('/tmp/x')
    expect(dataFolder('-x')).toBe(join(process.cwd(), '-x'))
  })
})
