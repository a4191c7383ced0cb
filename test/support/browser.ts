import { readFile } from 'node:fs/promises'
import type { Browser, BrowserContextOptions, Download, Page } from 'playwright-core'
import { chromium } from 'playwright-core'
import type { TestHost, TestHostOptions } from './host.ts'
import { startTestHost } from './host.ts'
import { tool } from './tools.ts'

/** No sandbox for root, and none of Chromium's own calls to the network. */
const FLAGS = [
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
]

/** What went wrong in a page that nobody asked for: must be empty at the end of every test that drives it. */
export interface PageTrouble {
  readonly errors: readonly string[]
  readonly policyViolations: readonly string[]
  /** Requests to anything but the host. */
  readonly strayRequests: readonly string[]
}

export interface Workbench {
  readonly page: Page
  readonly host: Omit<TestHost, 'process'>
  readonly browser: Browser
  trouble(): PageTrouble
  close(): Promise<void>
}

export interface WorkbenchOptions extends TestHostOptions {
  /** A host that runs already; it is stopped with the browser. */
  readonly host?: Omit<TestHost, 'process'>
  readonly context?: BrowserContextOptions
}

/** A headless Chromium of the test's own, with a fresh profile. */
export function launchChromium(): Promise<Browser> {
  const executablePath = tool('chromium')
  if (executablePath === undefined) throw new Error('chromium is not on this machine')
  return chromium.launch({ executablePath, args: FLAGS, headless: true })
}

/** Starts a host and a browser and opens the workbench in it, watching for trouble from the first moment. */
export async function openWorkbench(options: WorkbenchOptions = {}): Promise<Workbench> {
  const host = options.host ?? (await startTestHost(options))
  const browser = await launchChromium()
  const context = await browser.newContext({ viewport: { width: 1440, height: 900 }, ...options.context })
  const page = await context.newPage()
  const trouble = await watch(page, new URL(host.url).host)
  await page.goto(host.url)
  return {
    page,
    host,
    browser,
    trouble: () => trouble,
    async close() {
      await browser.close()
      await host.stop()
    },
  }
}

async function watch(page: Page, ownHost: string): Promise<PageTrouble> {
  const errors: string[] = []
  const policyViolations: string[] = []
  const strayRequests: string[] = []
  page.on('console', message => {
    if (message.type() === 'error') errors.push(message.text())
  })
  page.on('pageerror', error => errors.push(String(error)))
  page.on('request', request => {
    const { protocol, host } = new URL(request.url())
    if (!['data:', 'blob:'].includes(protocol) && host !== ownHost) strayRequests.push(request.url())
  })
  await page.exposeFunction('tellPolicyViolation', (what: string) => policyViolations.push(what))
  await page.addInitScript(() => {
    document.addEventListener('securitypolicyviolation', event => {
      const told = globalThis as unknown as { tellPolicyViolation(what: string): void }
      told.tellPolicyViolation(
        `${event.violatedDirective} ${event.blockedURI} ${event.sourceFile}:${event.lineNumber}`,
      )
    })
  })
  return { errors, policyViolations, strayRequests }
}

/** What was handed out as a file. */
export const savedText = async (saved: Download): Promise<string> => readFile(await saved.path(), 'utf8')
