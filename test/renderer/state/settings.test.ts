import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import { Settings } from '../../../renderer/state/settings.ts'
import type { StoredSettings } from '../../../shared/api/settings.ts'

beforeEach(() => vi.useFakeTimers())
afterEach(() => vi.useRealTimers())

function kept() {
  const written: StoredSettings[] = []
  const write = async (stored: StoredSettings) => written.push(stored)
  return { written, settings: new Settings({ theme: 'dark', rehearse: { route: 'cable' } }, write) }
}

describe('settings in the window', () => {
  it('gives what was stored, and remembers changes at once', () => {
    const { settings } = kept()
    expect(settings.theme).toBe('dark')
    expect(settings.rehearse.getItem('route')).toBe('cable')
    expect(settings.rehearse.getItem('seed')).toBeNull()
    settings.rehearse.setItem('seed', '7')
    expect(settings.rehearse.getItem('seed')).toBe('7')
  })

  it('keeps the fleet, which older settings do not have, apart from the rehearsal', () => {
    const { settings, written } = kept()
    expect(settings.fleet.getItem('route')).toBeNull()
    settings.fleet.setItem('part', 'inventory')
    expect(settings.fleet.getItem('part')).toBe('inventory')
    vi.advanceTimersByTime(1000)
    expect(written).toEqual([{ theme: 'dark', rehearse: { route: 'cable' }, fleet: { part: 'inventory' } }])
  })

  it('writes several changes as one, a little later', () => {
    const { settings, written } = kept()
    settings.theme = 'light'
    settings.rehearse.setItem('seed', '7')
    expect(written).toHaveLength(0)
    vi.advanceTimersByTime(1000)
    expect(written).toEqual([{ theme: 'light', rehearse: { route: 'cable', seed: '7' } }])
  })

  it('writes at once what is waiting when the window goes away, and nothing twice', () => {
    const { settings, written } = kept()
    settings.flush()
    expect(written).toHaveLength(0)
    settings.theme = 'light'
    settings.flush()
    settings.flush()
    vi.advanceTimersByTime(1000)
    expect(written.map(stored => stored.theme)).toEqual(['light'])
  })

  it('does not write what has not changed', () => {
    const { settings, written } = kept()
    settings.rehearse.setItem('route', 'cable')
    vi.advanceTimersByTime(1000)
    expect(written).toHaveLength(0)
  })

  it('goes on when the file cannot be written', async () => {
    const settings = new Settings({ theme: 'system', rehearse: {} }, () => Promise.reject(new Error('full')))
    settings.theme = 'contrast'
    await vi.advanceTimersByTimeAsync(1000)
    expect(settings.theme).toBe('contrast')
  })
})
