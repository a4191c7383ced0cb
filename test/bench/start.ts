import { launchChromium } from '../support/browser.ts'
import { startTestHost } from '../support/host.ts'
import type { Measured } from './table.ts'

const RUNS = 5

/** From starting the built host and a browser until the workbench can be used. The median of some runs. */
export async function benchStart(): Promise<Measured[]> {
  const runs: { host: number; window: number; whole: number }[] = []
  for (let i = 0; i < RUNS; i++) runs.push(await oneStart())
  const median = (key: keyof (typeof runs)[0]) =>
    runs.map(r => r[key]).sort((a, b) => a - b)[Math.floor(RUNS / 2)]
  const whole = median('whole')
  return [
    {
      what: 'host from start to listening',
      value: `${median('host').toFixed(0)} ms`,
      goal: '',
      reached: true,
    },
    {
      what: 'page from address to usable',
      value: `${median('window').toFixed(0)} ms`,
      goal: '',
      reached: true,
    },
    {
      what: 'start to usable window, host and chromium together',
      value: `${whole.toFixed(0)} ms`,
      goal: 'under 1500 ms',
      reached: whole < 1500,
    },
  ]
}

async function oneStart() {
  const started = performance.now()
  const [host, browser] = await Promise.all([
    startTestHost().then(h => ({ h, ms: performance.now() - started })),
    launchChromium(),
  ])
  try {
    const page = await browser.newPage()
    const opened = performance.now()
    await page.goto(host.h.url)
    await page.locator('main button, main a').first().waitFor({ state: 'visible' })
    const now = performance.now()
    return { host: host.ms, window: now - opened, whole: now - started }
  } finally {
    await browser.close()
    await host.h.stop()
  }
}
