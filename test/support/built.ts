import { ensureBuilt } from '../../main/scripts/build.mjs'

/** Builds once before the tests that drive the built program, when anything has changed. */
export function setup(): void {
  const { ok, output } = ensureBuilt()
  if (!ok) throw new Error(`The build failed, so nothing can be driven.\n${output}`)
}
