import type { MenuItemConstructorOptions } from 'electron'
import { describe, expect, it, vi } from 'vitest'
import { menuTemplate } from '../../main/shell/menu.ts'
import { menuCommandSchema } from '../../shared/api/contract.ts'

const items = (choose = vi.fn(), platform: NodeJS.Platform = 'linux'): MenuItemConstructorOptions[] =>
  menuTemplate(choose, platform).flatMap(menu => menu.submenu as MenuItemConstructorOptions[])

describe('the menu', () => {
  it('offers every command that the window understands, once', () => {
    const choose = vi.fn()
    for (const item of items(choose)) (item.click as (() => void) | undefined)?.()
    expect(choose.mock.calls.map(([command]) => command).sort()).toEqual(
      [...menuCommandSchema.options].sort(),
    )
  })

  it('shows a key for each, no key twice', () => {
    const keys = items().flatMap(({ accelerator }) => accelerator ?? [])
    expect(new Set(keys).size).toBe(keys.length)
    expect(keys).toEqual(expect.arrayContaining(['CmdOrCtrl+Z', 'CmdOrCtrl+S', 'CmdOrCtrl+O', 'CmdOrCtrl+Q']))
  })

  it('leaves the keys of its commands to the page, which knows when a text field comes first', () => {
    for (const item of items())
      if (item.click !== undefined) expect(item.registerAccelerator, item.label).toBe(false)
  })

  it('names redo by the key that people expect on their system', () => {
    const redo = (platform: NodeJS.Platform) =>
      items(vi.fn(), platform).find(({ label }) => label?.startsWith('Redo'))?.accelerator
    expect(redo('win32')).toBe('Ctrl+Y')
    expect(redo('linux')).toBe('CmdOrCtrl+Shift+Z')
  })

  it('has no way into the developer tools or a reload', () => {
    const roles = items().map(({ role }) => role)
    expect(roles).not.toContain('toggleDevTools')
    expect(roles).not.toContain('reload')
  })
})
