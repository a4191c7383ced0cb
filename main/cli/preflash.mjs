#!/usr/bin/env node
import { join } from 'node:path'
// The `preflash` command of the package: the built command line, built first where it is not there yet.
import { pathToFileURL } from 'node:url'
import { ensureBuilt, projectRoot } from '../scripts/build.mjs'

await ensureBuilt()
await import(pathToFileURL(join(projectRoot, 'out', 'main', 'cli.js')).href)
