import { describe, expect, it } from 'vitest'
import type { CardUnit } from '../../shared/model/gear.ts'
import { VirtualCard } from '../../shared/sim/card.ts'
import { TraceRecorder } from '../../shared/sim/trace.ts'

const unit: CardUnit = {
  id: 'card',
  nickname: 'Card',
  capacityBytes: 2 ** 30,
  freeBytes: 10 * 4096,
  clusterBytes: 4096,
  readOnly: false,
  writeBytesPerSecond: 2_000_000,
  folder: 'IMAGES',
}
function card() {
  const virtual = new VirtualCard(unit, new TraceRecorder())
  const ask = (request: Parameters<VirtualCard['ask']>[0]) => virtual.ask(request).result
  const freeClusters = () => {
    const answer = ask({ op: 'space' })
    return answer.got === 'number' ? answer.value / 4096 : Number.NaN
  }
  return { virtual, ask, freeClusters }
}

describe('the card of a rehearsal obeys the rules of real cards', () => {
  it.each(['IMAGES/con.image', 'a:b', '../x', 'IMAGES?/x', `${'n'.repeat(256)}`])(
    'refuses the name %j',
    path => {
      const { ask } = card()
      expect(ask({ op: 'create', path, bytes: 1 })).toEqual({ got: 'failed', why: 'name' })
      ask({ op: 'create', path: 'good', bytes: 1 })
      expect(ask({ op: 'rename', path: 'good', to: path })).toEqual({ got: 'failed', why: 'name' })
    },
  )

  it('gives out whole clusters, none for an empty file, one for a new folder', () => {
    const { ask, freeClusters } = card()
    for (const [bytes, left] of [
      [0, 9],
      [1, 8],
      [4097, 6],
    ])
      expect([ask({ op: 'create', path: `IMAGES/${bytes}.bin`, bytes }).got, freeClusters()]).toEqual([
        'done',
        left,
      ])
    expect(ask({ op: 'create', path: 'IMAGES/more.bin', bytes: 6 * 4096 + 1 })).toEqual({
      got: 'failed',
      why: 'full',
    })
    ask({ op: 'remove', path: 'images/4097.BIN' })
    expect(freeClusters()).toBe(8)
  })

  it('does not tell capitals from small letters: one file is left, in the second spelling', () => {
    const { virtual, ask, freeClusters } = card()
    ask({ op: 'create', path: 'wren.image', bytes: 3 })
    ask({ op: 'create', path: 'WREN.Image', bytes: 5 })
    expect([...virtual.files.keys()]).toEqual(['WREN.Image'])
    expect(ask({ op: 'size', path: 'wren.image' })).toEqual({ got: 'number', value: 5 })
    ask({ op: 'create', path: 'other.part', bytes: 7 })
    ask({ op: 'rename', path: 'OTHER.part', to: 'wren.image' })
    expect([...virtual.files.keys()]).toEqual(['wren.image'])
    ask({ op: 'rename', path: 'wren.image', to: 'Wren.image' })
    expect([...virtual.files.keys()]).toEqual(['Wren.image'])
    expect(freeClusters()).toBe(9)
  })
})
