import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'

export interface TestFolder {
  readonly path: string
  remove(): void
}

/** A new empty folder of the test's own. */
export function testFolder(purpose = 'test'): TestFolder {
  const path = mkdtempSync(join(tmpdir(), `preflash-${purpose}-`))
  return { path, remove: () => rmSync(path, { recursive: true, force: true }) }
}
