import { expect, it } from 'vitest'
import { NEW_DIALECT } from '../../../../renderer/bench/program/new-dialect.ts'
import { testDialect } from '../../../../shared/dialect/exchange.ts'
import { readDialect } from '../../../../shared/dialect/schema.ts'

it('the dialect to begin with is one, and can be tested at once', () => {
  const read = readDialect(NEW_DIALECT, 'new.json')
  expect(read.ok).toBe(true)
  if (!read.ok) return
  // Block number 0 and four zeros; the sum is that of the order's octet, 57, too.
  const data = '00 '.repeat(64)
  const good = testDialect(read.value, `→ 55\n← 06\n→ 57 00 00 ${data} 57\n← 06`)
  expect(good.ok && good.value.difference?.text).toBeUndefined()
  const bad = testDialect(read.value, '→ 55\n← 07')
  expect(bad.ok && bad.value.difference?.text).toContain('Line 2')
})
