import { describe, expect, it, vi } from 'vitest'
import { takeToken } from '../../../renderer/api/token.ts'

const TOKEN = 'abcDEF_-0123456789abcDEF_-0123456789abcDEF0'

function tab() {
  const kept = new Map<string, string>()
  return {
    getItem: (name: string) => kept.get(name) ?? null,
    setItem: (name: string, value: string) => void kept.set(name, value),
  }
}

describe('takeToken', () => {
  it('takes the token out of the address and remembers it for a reload', () => {
    const keep = tab()
    const show = vi.fn()
    expect(takeToken({ hash: `#token=${TOKEN}`, pathname: '/', search: '' }, keep, show)).toBe(TOKEN)
    expect(show).toHaveBeenCalledWith('/')
    expect(takeToken({ hash: '', pathname: '/', search: '' }, keep, show)).toBe(TOKEN)
  })

  it.each(['', '#fleet', '#token=', '#token=short', `#token=${TOKEN}!`])('finds none in %j', hash => {
    const show = vi.fn()
    expect(takeToken({ hash, pathname: '/', search: '' }, tab(), show)).toBe('')
    expect(show).not.toHaveBeenCalled()
  })
})
