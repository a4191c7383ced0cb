import { AxeBuilder } from '@axe-core/playwright'
import type { Page } from 'playwright-core'

/** What axe finds wrong on this page as it stands, with the places; must be empty. */
export async function axeFinds(page: Page): Promise<string[]> {
  const { violations } = await new AxeBuilder({ page }).analyze()
  return violations.map(v => `${v.id}: ${v.nodes.map(n => `${n.target.join(' ')} ${n.html}`).join('; ')}`)
}
