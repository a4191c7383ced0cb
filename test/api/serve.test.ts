import { describe, expect, it, vi } from 'vitest'
import type { Handlers } from '../../shared/api/define.ts'
import { makeEvents, ProblemsError, serveContract } from '../../shared/api/serve.ts'
import { ProblemError } from '../../shared/model/problem.ts'
import type { Notes } from './notes.ts'
import { notes } from './notes.ts'

const good: Handlers<Notes> = {
  'notes.add': ({ text }) => ({ id: text.length }),
  'notes.flip': async ({ bytes }) => ({ bytes: bytes.map(octet => octet ^ 0xff) }),
}
const failing = (error: unknown): Handlers<Notes> => ({
  ...good,
  'notes.add': () => {
    throw error
  },
})

describe('serveContract', () => {
  it('answers with what the handler gives', async () => {
    const serve = serveContract(notes, good)
    expect(await serve('notes.add', { text: 'four' })).toEqual({ ok: true, reply: { id: 4 } })
    const flipped = await serve('notes.flip', { bytes: new Uint8Array([0xf0]) })
    expect(flipped).toEqual({ ok: true, reply: { bytes: new Uint8Array([0x0f]) } })
  })

  it('names the field of a request that does not fit, and does not run the handler', async () => {
    const add = vi.fn(good['notes.add'])
    const outcome = await serveContract(notes, { ...good, 'notes.add': add })('notes.add', {
      text: 'x',
      at: { line: 'two' },
    })
    expect(outcome).toMatchObject({ ok: false, problems: [{ code: 'api.request', field: 'at.line' }] })
    expect(add).not.toHaveBeenCalled()
  })

  it.each(['notes.remove', 'toString', '__proto__', 'constructor', ''])(
    'does not know the method %j',
    async method => {
      expect(await serveContract(notes, good)(method, {})).toMatchObject({
        ok: false,
        problems: [{ code: 'api.method' }],
      })
    },
  )

  it('passes on the problem a handler throws', async () => {
    const problem = { code: 'notes.full', message: 'There is no room.', remedy: 'Delete one.' }
    const outcome = await serveContract(notes, failing(new ProblemError(problem)))('notes.add', { text: 'x' })
    expect(outcome).toEqual({ ok: false, problems: [problem] })
  })

  it('passes on several problems together', async () => {
    const problems = [
      { code: 'a.a', message: 'A.' },
      { code: 'b.b', message: 'B.' },
    ]
    const outcome = await serveContract(notes, failing(new ProblemsError(problems)))('notes.add', {
      text: 'x',
    })
    expect(outcome).toEqual({ ok: false, problems })
  })

  it.each([
    ['an error', new Error('secret: /home/someone')],
    ['a text', 'secret'],
    ['no problems', new ProblemsError([])],
  ])('tells the caller nothing of %s it did not expect, but reports it', async (_what, error) => {
    const report = vi.fn()
    const outcome = await serveContract(notes, failing(error), report)('notes.add', { text: 'x' })
    expect(outcome).toMatchObject({ ok: false, problems: [{ code: 'api.unexpected' }] })
    expect(JSON.stringify(outcome)).not.toMatch(/secret|serve\.test|\\n/)
    expect(report).toHaveBeenCalledWith(error, 'notes.add')
  })

  it('does not let a reply out that does not fit', async () => {
    const report = vi.fn()
    const wrong = { ...good, 'notes.add': () => ({ id: 1, secret: 'x' }) }
    const outcome = await serveContract(notes, wrong, report)('notes.add', { text: 'x' })
    expect(outcome).toMatchObject({ ok: false, problems: [{ code: 'api.unexpected' }] })
    expect(report).toHaveBeenCalledOnce()
  })
})

describe('makeEvents', () => {
  it('tells all listeners until they stop', () => {
    const events = makeEvents(notes)
    const [first, second] = [vi.fn(), vi.fn()]
    const stop = events.listen(first)
    events.listen(second)
    events.emit('notes.added', { id: 1 })
    stop()
    events.emit('notes.cleared', {})
    expect(first.mock.calls).toEqual([['notes.added', { id: 1 }]])
    expect(second.mock.calls).toEqual([
      ['notes.added', { id: 1 }],
      ['notes.cleared', {}],
    ])
  })

  it('refuses to send what the contract does not say', () => {
    const events = makeEvents(notes)
    const listener = vi.fn()
    events.listen(listener)
    expect(() => events.emit('notes.added', { id: 'one' } as unknown as { id: number })).toThrow()
    expect(listener).not.toHaveBeenCalled()
  })
})
