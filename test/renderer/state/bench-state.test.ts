import { describe, expect, it } from 'vitest'
import { benchReducer, hasUnsaved, type OpenBench } from '../../../renderer/state/bench-state.ts'
import { demoBench } from '../../../shared/demo/bench.ts'

const opened = (): OpenBench => {
  const state = benchReducer(undefined, {
    do: 'open',
    bench: demoBench(),
    file: undefined,
    receiverId: 'wren-glider',
  })
  if (state === undefined) throw new Error('nothing was opened')
  return state
}
const renamed = (state: OpenBench, name: string) => ({ ...state.bench, name })

describe('the bench in the window', () => {
  it('undoes and redoes by name, and forgets what was undone when something new is done', () => {
    const first = opened()
    const changed = benchReducer(first, { do: 'change', label: 'Rename', bench: renamed(first, 'A') })!
    expect(changed.past.at(-1)?.label).toBe('Rename')
    const undone = benchReducer(changed, { do: 'undo' })!
    expect(undone.bench).toBe(first.bench)
    expect(undone.future[0].label).toBe('Rename')
    expect(benchReducer(undone, { do: 'redo' })!.bench.name).toBe('A')
    const other = benchReducer(undone, { do: 'change', label: 'Other', bench: renamed(first, 'B') })!
    expect(other.future).toEqual([])
  })

  it('is unsaved after a change, and saved again after undoing it', () => {
    const first = opened()
    expect(hasUnsaved(first)).toBe(false)
    const changed = benchReducer(first, { do: 'change', label: 'x', bench: renamed(first, 'A') })!
    expect(hasUnsaved(changed)).toBe(true)
    expect(hasUnsaved(benchReducer(changed, { do: 'undo' })!)).toBe(false)
  })

  it('does not call changes saved that were made while the file was being written', () => {
    const first = opened()
    const one = benchReducer(first, { do: 'change', label: '1', bench: renamed(first, '1') })!
    const two = benchReducer(one, { do: 'change', label: '2', bench: renamed(first, '2') })!
    const saved = benchReducer(two, { do: 'saved', bench: one.bench, fileName: 'a', revision: 'r' })!
    expect(hasUnsaved(saved)).toBe(true)
  })

  it('lets go of a chosen receiver that is deleted, and has it back after undo', () => {
    const first = opened()
    const without = { ...first.bench, receivers: first.bench.receivers.filter(r => r.id !== 'wren-glider') }
    const changed = benchReducer(first, { do: 'change', label: 'Delete', bench: without })!
    expect(changed.receiverId).not.toBe('wren-glider')
    expect(benchReducer(changed, { do: 'choose', receiverId: 'nobody' })!.receiverId).toBe(
      without.receivers[0].id,
    )
  })

  it('keeps a bounded history', () => {
    let state = opened()
    for (let i = 0; i < 250; i++)
      state = benchReducer(state, { do: 'change', label: `${i}`, bench: renamed(state, `n${i}`) })!
    expect(state.past.length).toBe(200)
    expect(state.past.at(-1)?.label).toBe('249')
  })

  it('does nothing without a bench, and nothing when there is nothing to undo', () => {
    expect(benchReducer(undefined, { do: 'undo' })).toBeUndefined()
    const first = opened()
    expect(benchReducer(first, { do: 'undo' })).toBe(first)
    expect(benchReducer(first, { do: 'redo' })).toBe(first)
  })
})
