import { describe, expect, it } from 'vitest'
import { browserOpener, hasDisplay, runOpener } from '../../main/host/opener.ts'
import type { Surroundings } from '../../main/host/options.ts'
import { defaultDataFolder, readStartOptions } from '../../main/host/options.ts'

const around: Surroundings = { env: {}, platform: 'linux', home: '/home/ann', cwd: '/work/here' }

describe('readStartOptions', () => {
  it('needs nothing', () => {
    expect(readStartOptions([], around)).toEqual({
      dataFolder: '/home/ann/.local/share/preflash',
      port: 0,
      openBrowser: true,
    })
  })

  it('takes a bench file, a port, a data folder', () => {
    const args = ['club.bench.json', '--port', '8123', '--no-open', '--data', 'd']
    expect(readStartOptions(args, around)).toEqual({
      benchFile: '/work/here/club.bench.json',
      dataFolder: '/work/here/d',
      port: 8123,
      openBrowser: false,
    })
  })

  it('prefers --data to PREFLASH_DATA to the usual place', () => {
    const told = { ...around, env: { PREFLASH_DATA: '/told' } }
    expect(readStartOptions([], told).dataFolder).toBe('/told')
    expect(readStartOptions(['--data', '/said'], told).dataFolder).toBe('/said')
  })

  it.each([
    [['--port', '65536'], '65536'],
    [['--port', '-1'], 'argument'],
    [['--port', '80x'], '80x'],
    [['--port='], "''"],
    [['--host', '0.0.0.0'], '--host'],
    [['a.json', 'b.json'], 'Only one'],
  ])('refuses %j, saying what is wrong and what would be right', (args, said) => {
    try {
      readStartOptions(args, around)
      expect.unreachable()
    } catch (error) {
      expect(error).toMatchObject({ problem: { code: 'start.arguments' } })
      expect(String(error)).toContain(said)
      expect(String(error)).toContain('--port 0..65535')
    }
  })
})

it('data lie where each system keeps them', () => {
  expect(defaultDataFolder({ ...around, env: { XDG_DATA_HOME: '/xdg' } })).toBe('/xdg/preflash')
  expect(defaultDataFolder({ ...around, platform: 'darwin' })).toBe(
    '/home/ann/Library/Application Support/Preflash',
  )
  expect(defaultDataFolder({ ...around, platform: 'win32', env: { APPDATA: '/roaming' } })).toBe(
    '/roaming/Preflash',
  )
})

describe('showing the page', () => {
  const url = 'http://127.0.0.1:1/#token=a&b'

  it('uses the means of the system and hands the address over as one argument', () => {
    expect(browserOpener(url, { env: {}, platform: 'darwin' })).toEqual({ command: 'open', args: [url] })
    expect(browserOpener(url, { env: { DISPLAY: ':0' }, platform: 'linux' })?.args).toEqual([url])
    expect(browserOpener(url, { env: {}, platform: 'win32' })?.args.at(-1)).toBe(url)
  })

  it('does not try without a display', () => {
    expect(browserOpener(url, { env: {}, platform: 'linux' })).toBeUndefined()
    expect(hasDisplay({ WAYLAND_DISPLAY: 'wayland-0' }, 'linux')).toBe(true)
    expect(hasDisplay({ DISPLAY: '' }, 'linux')).toBe(false)
  })

  it('says when the means are not there', async () => {
    expect(await runOpener({ command: '/no/such/program', args: [] })).toBe(false)
    expect(await runOpener({ command: 'true', args: [] })).toBe(true)
  })
})
