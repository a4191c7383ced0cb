import { describe, expect, it } from 'vitest'
import { SMALLEST, windowOptions } from '../../main/shell/window.ts'

describe('the window', () => {
  const options = windowOptions('/built/preload.cjs', {
    width: 1_200,
    height: 800,
    x: 5,
    y: 6,
    maximized: true,
  })

  // Electron's security guide, https://www.electronjs.org/docs/latest/tutorial/security, points 2 to 8 and 12.
  it.each([
    ['contextIsolation', true],
    ['sandbox', true],
    ['webSecurity', true],
    ['nodeIntegration', false],
    ['nodeIntegrationInWorker', false],
    ['nodeIntegrationInSubFrames', false],
    ['allowRunningInsecureContent', false],
    ['experimentalFeatures', false],
    ['webviewTag', false],
  ] as const)('has %s %s', (name, value) => {
    expect(options.webPreferences?.[name]).toBe(value)
  })

  it('switches on no feature that is off for a reason', () => {
    expect(options.webPreferences).not.toHaveProperty('enableBlinkFeatures')
    expect(options.webPreferences).not.toHaveProperty('additionalArguments')
  })

  it('stands where it stood, and is shown only when there is something to see', () => {
    expect(options).toMatchObject({ width: 1_200, height: 800, x: 5, y: 6, show: false })
    expect(options).not.toHaveProperty('maximized')
    expect(options).toMatchObject({ minWidth: SMALLEST.width, minHeight: SMALLEST.height })
  })

  it('loads the preload it is given', () =>
    expect(options.webPreferences?.preload).toBe('/built/preload.cjs'))
})
