import { readFile, realpath, stat } from 'node:fs/promises'
import { extname, join, sep } from 'node:path'

export interface Asset {
  readonly bytes: Buffer<ArrayBuffer>
  readonly contentType: string
  /** Built files carry a digest in their name and never change under it. */
  readonly lasting: boolean
}

const CONTENT_TYPES: Readonly<Record<string, string>> = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.css': 'text/css; charset=utf-8',
  '.json': 'application/json; charset=utf-8',
  '.svg': 'image/svg+xml',
  '.png': 'image/png',
  '.ico': 'image/x-icon',
  '.woff2': 'font/woff2',
  '.woff': 'font/woff',
  '.txt': 'text/plain; charset=utf-8',
}
const PART = /^[A-Za-z0-9_@-][A-Za-z0-9_@.-]*$/

/**
 * The path below the served folder that an address names, or undefined for one that no page of ours would ask
 * for. Allows only plain names between slashes: no `..`, no empty or dotted parts, no backslash, no drive, no NUL.
 */
export function assetPath(urlPath: string): string | undefined {
  let path: string
  try {
    path = decodeURIComponent(urlPath)
  } catch {
    return undefined
  }
  if (path === '/') return 'index.html'
  if (!path.startsWith('/') || path.length > 1_000) return undefined
  const parts = path.slice(1).split('/')
  return parts.every(part => PART.test(part)) ? parts.join('/') : undefined
}

/** The file below `root` that the path of an address names; undefined when there is none, or it lies outside. */
export async function readAsset(root: string, urlPath: string): Promise<Asset | undefined> {
  const path = assetPath(urlPath)
  const contentType = path === undefined ? undefined : CONTENT_TYPES[extname(path)]
  if (path === undefined || contentType === undefined) return undefined
  try {
    const home = await realpath(root)
    const file = await realpath(join(home, path))
    if (!file.startsWith(home + sep) || !(await stat(file)).isFile()) return undefined
    return { bytes: await readFile(file), contentType, lasting: path.startsWith('assets/') }
  } catch {
    return undefined
  }
}
