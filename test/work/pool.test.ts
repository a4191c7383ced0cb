import { join } from 'node:path'
import { afterAll, afterEach, describe, expect, it } from 'vitest'
import { projectRoot } from '../../main/scripts/build.mjs'
import { WorkerPool } from '../../main/work/pool.ts'
import type { ReadItem } from '../../main/work/tasks.ts'
import { readerScript, sourceScript } from '../../main/work/worker-script.ts'

const imported = '2026-11-25T08:00:00.000Z'
const read = (fileName: string, octets = new Uint8Array(4)) =>
  ({ do: 'read', fileName, octets, imported }) as const

describe('workers that read files', () => {
  const script = sourceScript(join(projectRoot, 'test', 'support', 'stubborn-worker.ts'))
  let pool: WorkerPool
  afterEach(() => pool?.close())

  it.each([
    ['hang', 'work.timeout', { timeoutMs: 300 }],
    ['throw', 'work.broken', {}],
    ['exit', 'work.broken', {}],
    ['hog', 'work.memory', { heapMib: 32 }],
  ])(
    '%s: the worker is ended, a problem is the answer, and the next file is read',
    async (name, code, more) => {
      pool = new WorkerPool({ script, size: 1, ...more })
      const bad = pool.run(read(name), { fileName: `${name}.hex` })
      const pieces: unknown[] = []
      const good = pool.run(read('a'), { onPiece: piece => void pieces.push(piece) })
      expect(await bad).toMatchObject({ ok: false, problems: [{ code, file: `${name}.hex` }] })
      expect(await good).toMatchObject({ ok: true })
      expect(pieces).toEqual(['read a'])
    },
  )

  it('stops at once when told to, also a worker that hangs', async () => {
    pool = new WorkerPool({ script, size: 1 })
    const abort = new AbortController()
    const hanging = pool.run(read('hang'), { signal: abort.signal })
    const waiting = pool.run(read('a'), { signal: abort.signal })
    abort.abort()
    expect(await hanging).toMatchObject({ ok: false, problems: [{ code: 'work.stopped' }] })
    expect(await waiting).toMatchObject({ ok: false, problems: [{ code: 'work.stopped' }] })
  })

  it('uses one worker again, and no more than it may at once', async () => {
    pool = new WorkerPool({ script, size: 2 })
    let [now, most] = [0, 0]
    const onPiece = async () => {
      most = Math.max(most, ++now)
      await new Promise(resolve => setTimeout(resolve, 5))
      now--
    }
    const all = ['a', 'b', 'c', 'd', 'e'].map(name => pool.run(read(name), { onPiece }))
    expect((await Promise.all(all)).every(result => result.ok)).toBe(true)
    expect(most).toBeLessThanOrEqual(2)
  })

  it('hands on what the taker of a piece throws, and is usable afterwards', async () => {
    pool = new WorkerPool({ script, size: 1 })
    const taking = pool.run(read('a'), {
      onPiece: () => {
        throw new Error('disk full')
      },
    })
    await expect(taking).rejects.toThrow('disk full')
    expect(await pool.run(read('b'))).toMatchObject({ ok: true })
  })
})

describe('the worker from source', () => {
  const pool = new WorkerPool({ script: readerScript(), size: 1 })
  afterAll(() => pool.close())

  it('reads an image and says what is wrong with a damaged one', async () => {
    const items: ReadItem[] = []
    const onPiece = (piece: unknown) => void items.push(piece as ReadItem)
    const octets = (text: string) => new TextEncoder().encode(text)
    // The record of the Intel HEX specification's own example, whole and with one digit changed.
    await pool.run(read('a.hex', octets(':0300300002337A1E\n:00000001FF\n')), { onPiece })
    await pool.run(read('b.hex', octets(':0300300002337A1F\n:00000001FF\n')), { onPiece })
    expect(items[0].entry).toMatchObject({ format: 'intel-hex', lowestAddress: 0x30, payloadBytes: 3 })
    expect(items[1]).toMatchObject({ problems: [{ code: 'hex.checksum', file: 'b.hex', line: 1 }] })
  })
})
