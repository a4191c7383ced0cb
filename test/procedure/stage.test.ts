import { describe, expect, it } from 'vitest'
import type { EffectResult, StoreRequest } from '../../shared/procedure/effects.ts'
import { StagingFailed, stageFile } from '../../shared/procedure/stage.ts'
import { runScripted } from '../support/scripted.ts'

const octets = Uint8Array.from({ length: 40_000 }, (_, i) => (i * 7) & 0xff)

/** A volume in memory; `spoil` may answer in its place. */
function volume(spoil: (request: StoreRequest) => EffectResult | undefined = () => undefined) {
  const files = new Map<string, Uint8Array>()
  const ask = (request: StoreRequest): EffectResult => {
    const spoilt = spoil(request)
    if (spoilt) return spoilt
    switch (request.op) {
      case 'create':
        files.set(request.path, new Uint8Array(request.bytes))
        return { got: 'done' }
      case 'write':
        files.get(request.path)?.set(request.octets, request.offset)
        return { got: 'done' }
      case 'read':
        return {
          got: 'octets',
          octets: files.get(request.path)!.slice(request.offset, request.offset + request.bytes),
        }
      case 'rename':
        files.set(request.to, files.get(request.path)!)
        files.delete(request.path)
        return { got: 'done' }
      default:
        return { got: 'done' }
    }
  }
  return { files, ask }
}

const stage = (ask: (request: StoreRequest) => EffectResult) =>
  runScripted(stageFile({ path: 'IMAGES/a.image', octets }), effect =>
    effect.do === 'store' ? ask(effect.request) : { got: 'done' },
  )

describe('staging a file', () => {
  it('writes under another name, flushes, reads all of it back, and renames last', () => {
    const { files, ask } = volume()
    const { effects } = stage(ask)
    expect([...files.keys()]).toEqual(['IMAGES/a.image'])
    expect(Buffer.from(files.get('IMAGES/a.image')!).equals(Buffer.from(octets))).toBe(true)
    const ops = effects.flatMap(e => (e.do === 'store' ? [e.request] : []))
    expect(ops[0]).toMatchObject({ op: 'create', path: 'IMAGES/a.image.part', bytes: octets.length })
    expect(ops.at(-1)).toMatchObject({ op: 'rename', to: 'IMAGES/a.image' })
    const flushed = ops.findIndex(o => o.op === 'flush')
    expect(ops.slice(0, flushed).every(o => o.op === 'create' || o.op === 'write')).toBe(true)
    const read = ops.slice(flushed).reduce((sum, o) => sum + (o.op === 'read' ? o.bytes : 0), 0)
    expect(read).toBeGreaterThanOrEqual(octets.length)
  })

  it('tells its progress up to the whole of writing and reading back', () => {
    const { effects } = stage(volume().ask)
    const told = effects.flatMap(e => (e.do === 'say' && e.event.kind === 'progress' ? [e.event] : []))
    expect(told.at(-1)).toMatchObject({ done: 2 * octets.length, total: 2 * octets.length })
    for (let i = 1; i < told.length; i++) expect(told[i].done).toBeGreaterThan(told[i - 1].done)
  })

  it('does not give the name to what does not read back as it was written', () => {
    const spoilt = volume(request =>
      request.op === 'read' && request.offset > 0
        ? {
            got: 'octets',
            octets: octets.slice(request.offset, request.offset + request.bytes).fill(0, 5, 6),
          }
        : undefined,
    )
    expect(() => stage(spoilt.ask)).toThrow(StagingFailed)
    expect(spoilt.files.has('IMAGES/a.image')).toBe(false)
  })

  for (const [why, code] of [
    ['full', 'card-full'],
    ['absent', 'card-absent'],
    ['read-only', 'card-read-only'],
    ['bad-sector', 'card-unreadable'],
  ] as const)
    it(`ends with ${code} when the volume says ${why}, whenever it does`, () => {
      for (const op of ['create', 'write', 'flush', 'read', 'rename'] as const) {
        const failing = volume(request => (request.op === op ? { got: 'failed', why } : undefined))
        let code_: string | undefined
        try {
          stage(failing.ask)
        } catch (error) {
          code_ = error instanceof StagingFailed ? error.code : String(error)
        }
        expect(code_).toBe(code)
        expect(failing.files.has('IMAGES/a.image')).toBe(false)
      }
    })
})
