import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { Workbench } from '../support/browser.ts'
import { openWorkbench } from '../support/browser.ts'
import { lacks } from '../support/tools.ts'

describe.skipIf(lacks('chromium'))('the workbench in a browser', () => {
  let workbench: Workbench

  beforeAll(async () => {
    workbench = await openWorkbench()
  })
  afterAll(async () => workbench?.close())

  it('shows itself, with its version fetched over the contract', async () => {
    await workbench.page
      .getByText(/Preflash/)
      .first()
      .waitFor()
    expect(await workbench.page.title()).toContain('Preflash')
  })

  it('takes the token out of the address, and still works after a reload', async () => {
    expect(workbench.page.url()).not.toContain('token')
    await workbench.page.reload()
    await workbench.page
      .getByText(/Preflash/)
      .first()
      .waitFor()
  })

  it('runs without errors, policy violations or requests to anywhere else', () => {
    expect(workbench.trouble()).toEqual({ errors: [], policyViolations: [], strayRequests: [] })
  })

  it('would notice a policy violation, and the policy would stop it', async () => {
    const ran = await workbench.page.evaluate(async () => {
      const script = document.createElement('script')
      script.textContent = 'globalThis.inlineRan = true'
      document.head.append(script)
      await new Promise(resolve => setTimeout(resolve, 200))
      return 'inlineRan' in globalThis
    })
    expect(ran).toBe(false)
    await expect.poll(() => workbench.trouble().policyViolations.join()).toContain('script-src')
  })

  it('refuses a socket from a page without the token', async () => {
    const context = await workbench.browser.newContext()
    const page = await context.newPage()
    await page.goto(workbench.host.url.split('#')[0])
    const code = await page.evaluate(
      () =>
        new Promise<number>(resolve => {
          const socket = new WebSocket(`ws://${location.host}/socket`, ['preflash'])
          socket.onclose = event => resolve(event.code)
        }),
    )
    expect(code).toBe(4401)
    await context.close()
  })
})
