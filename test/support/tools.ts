import { findTool, TOOLS } from '../../main/scripts/tools.mjs'

/**
 * Path of a program the tests compare with, or undefined where the machine lacks it. Only programs listed in
 * main/scripts/tools.mjs may be asked for, because npm test installs and reports exactly those.
 */
export function tool(name: string): string | undefined {
  if (!TOOLS.some(known => known.name === name))
    throw new Error(`${name} is not listed in main/scripts/tools.mjs`)
  return findTool(name)
}

/** For `describe.skipIf(lacks('srec_cat'))`; npm test says which suites that leaves out and why. */
export const lacks = (...names: readonly string[]): boolean => names.some(name => tool(name) === undefined)
