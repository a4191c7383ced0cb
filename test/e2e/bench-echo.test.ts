import { describe, expect, it, onTestFinished } from 'vitest'
import {
  axe,
  button,
  ended,
  goThrough,
  LONG_MS,
  lanes,
  openProgrammer,
  setUp,
  write,
} from '../support/bench-steps.ts'
import { needs, titled } from '../support/needs.ts'
import { lacks } from '../support/tools.ts'
import { playedReceiver } from '../support/write-desk.ts'
import { writePlan } from '../support/write-plan.ts'

/** The way from a write that failed into Diagnose, which then knows whether what was sent came back. */
describe.skipIf(lacks('chromium') || needs('socat') === undefined)(
  titled('what becomes of what is sent on one wire', 'socat'),
  () => {
    it.each([
      // The adapter hears itself, and the receiver is silent: the near end is sound.
      [true, 'came back, so the port and its end of the wire are sound', 'Yes'],
      // Not even that comes back: the near end is open, or does not hear.
      [false, 'Not even what we say came back', 'No'],
    ] as const)(
      'is handed over to Diagnose by a write that failed: echo %s',
      { timeout: 2 * LONG_MS },
      async (echo, words, answer) => {
        const opened = await openProgrammer()
        onTestFinished(() => opened.close())
        const { page } = opened
        const silent = await playedReceiver({ plan: writePlan(), faults: [{ name: 'silent' }], echo })
        await setUp(page, silent.path)
        await goThrough(page)
        await write(page)
        await lanes(page).getByText('Failed', { exact: true }).waitFor({ timeout: LONG_MS })
        expect(await ended(page).textContent()).toContain(words)
        await button(page, 'Find out why').click()
        await page.getByRole('heading', { name: 'Diagnose', level: 1 }).waitFor()
        expect(await page.getByRole('main').textContent()).toContain('The cable does not answer')
        const known = page.getByRole('region', { name: 'What is known' })
        const fact = known.getByRole('listitem').filter({ hasText: 'Does what is sent come back' })
        await fact.getByRole('radio', { name: answer, exact: true }).waitFor({ timeout: LONG_MS })
        expect(await fact.getByRole('radio', { name: answer, exact: true }).isChecked()).toBe(true)
        // Nobody was asked: what stands there the write has seen.
        expect(await known.textContent()).toMatch(/Seen by the write \(\d\)/)
        expect(await known.textContent()).not.toContain('Answered by you')
        expect(await known.textContent()).not.toContain('the opposite')
        // What is wrong at the near end explains it where nothing comes back, and nowhere else.
        const causes = page.getByRole('region', { name: 'What would explain it' }).getByRole('listitem')
        const near = /The cable is not on the port that sends/
        const first = await causes.first().textContent()
        if (answer === 'No') expect(first).toMatch(near)
        else expect(first).not.toMatch(near)
        // Looked at again by the person, who sees the opposite: that counts, and both are told.
        await fact.getByRole('radio', { name: answer === 'Yes' ? 'No' : 'Yes', exact: true }).click()
        await known.getByText(/^Answered by you \(1\)$/).waitFor({ timeout: LONG_MS })
        expect(await fact.textContent()).toContain('The write saw the opposite. You looked later')
        expect(await axe(page)).toEqual([])
      },
    )
  },
)
