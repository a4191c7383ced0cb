import { createElement } from 'react'
import { renderToStaticMarkup } from 'react-dom/server'
import { describe, expect, it } from 'vitest'
import { forgetful, type Memory, useRemembered } from '../../../renderer/fleet/memory.ts'

interface Left {
  readonly text: string
}

const read = (kept: string): Left | undefined => (kept.startsWith('{') ? JSON.parse(kept) : undefined)

interface ViewProps {
  readonly memory: Memory
  readonly tell: (state: [Left, (next: Left) => void]) => void
}

function View({ memory, tell }: ViewProps) {
  tell(useRemembered<Left>(memory, 'list', read, { text: 'otherwise' }))
  return null
}

/** What a view sees at its first drawing, and the setter it got. */
function visit(memory: Memory): [Left, (next: Left) => void] {
  const told: [Left, (next: Left) => void][] = []
  renderToStaticMarkup(createElement(View, { memory, tell: state => told.push(state) }))
  return told[0]
}

describe('a remembered state', () => {
  it('is the usual one at first, and at the next visit what it was set to', () => {
    const memory = forgetful()
    const [first, set] = visit(memory)
    expect(first).toEqual({ text: 'otherwise' })
    set({ text: 'wren' })
    expect(visit(memory)[0]).toEqual({ text: 'wren' })
  })

  it('is the usual one where what was kept is not sensible', () => {
    const memory = forgetful()
    memory.setItem('list', 'torn')
    expect(visit(memory)[0]).toEqual({ text: 'otherwise' })
  })

  it('longer than the settings take is not kept', () => {
    const memory = forgetful()
    const [, set] = visit(memory)
    set({ text: 'wren' })
    set({ text: 'x'.repeat(2001) })
    expect(visit(memory)[0]).toEqual({ text: 'wren' })
  })
})
