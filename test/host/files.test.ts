import { mkdirSync, symlinkSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import fc from 'fast-check'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { assetPath, readAsset } from '../../main/host/files.ts'
import type { TestFolder } from '../support/folder.ts'
import { testFolder } from '../support/folder.ts'

describe('readAsset', () => {
  let folder: TestFolder
  let root: string

  beforeAll(() => {
    folder = testFolder('files')
    root = join(folder.path, 'pages')
    mkdirSync(join(root, 'assets', 'folder.js'), { recursive: true })
    writeFileSync(join(root, 'index.html'), '<p>page</p>')
    writeFileSync(join(root, 'assets', 'code-1a2b.js'), 'code')
    writeFileSync(join(root, 'key.pem'), 'unknown kind')
    writeFileSync(join(root, '.hidden.js'), 'hidden')
    writeFileSync(join(folder.path, 'secret.txt'), 'secret')
    symlinkSync(join(folder.path, 'secret.txt'), join(root, 'link.txt'))
    mkdirSync(join(folder.path, 'pages-of-another'))
    writeFileSync(join(folder.path, 'pages-of-another', 'a.txt'), 'secret')
  })
  afterAll(() => folder.remove())

  it('reads the page and what it needs', async () => {
    const page = await readAsset(root, '/')
    expect(page?.bytes.toString()).toBe('<p>page</p>')
    expect(page).toMatchObject({ contentType: 'text/html; charset=utf-8', lasting: false })
    const code = await readAsset(root, '/assets/code-1a2b.js')
    expect(code).toMatchObject({ contentType: 'text/javascript; charset=utf-8', lasting: true })
  })

  it.each([
    '/../secret.txt',
    '/assets/../../secret.txt',
    '/%2e%2e/secret.txt',
    '/..%2fsecret.txt',
    '/%252e%252e/secret.txt',
    '/..\\secret.txt',
    '/assets/..%5c..%5csecret.txt',
    '/../pages-of-another/a.txt',
    '//secret.txt',
    '/./index.html',
    '/link.txt',
    '/index.html%00.txt',
    '/%',
    '/assets/',
    '/assets',
    '/assets/folder.js',
    '/.hidden.js',
    '/key.pem',
    '/missing.js',
    'index.html',
    '',
    '/etc/passwd',
    '/C:/windows/win.ini',
  ])('does not read %j', async path => {
    expect(await readAsset(root, path)).toBeUndefined()
  })
})

it('assetPath never leaves the folder, whatever is asked for', () => {
  const piece = fc.oneof(
    fc.string(),
    fc.constantFrom('..', '.', '%2e', '%2F', '\\', '/', '%5c', 'a.js', '%00', ':'),
  )
  fc.assert(
    fc.property(fc.array(piece), pieces => {
      const path = assetPath(`/${pieces.join('')}`)
      if (path === undefined) return
      expect(path).not.toMatch(/\\|\0|:|^\/|\/\//)
      expect(path.split('/')).not.toContain('..')
      expect(join('/root', path).startsWith('/root/')).toBe(true)
    }),
  )
})
