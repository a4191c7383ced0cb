import { mkdirSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { allowRequest, answerFrom, SCHEME_PRIVILEGES } from '../../main/shell/scheme.ts'
import type { TestFolder } from '../support/folder.ts'
import { testFolder } from '../support/folder.ts'

describe('our own scheme', () => {
  let folder: TestFolder
  let answer: (request: Request) => Promise<Response>

  beforeAll(() => {
    folder = testFolder('scheme')
    const root = join(folder.path, 'pages')
    mkdirSync(root)
    writeFileSync(join(root, 'index.html'), 'the page')
    writeFileSync(join(folder.path, 'secret.txt'), 'secret')
    answer = answerFrom(root)
  })
  afterAll(() => folder.remove())

  it('serves the page with its type and the strict policy', async () => {
    const response = await answer(new Request('preflash://app/'))
    expect(await response.text()).toBe('the page')
    expect(response.headers.get('content-type')).toBe('text/html; charset=utf-8')
    expect(response.headers.get('content-security-policy')).toContain("default-src 'none'")
    expect(response.headers.get('content-security-policy')).toContain("connect-src 'self';")
  })

  it.each([
    'preflash://evil/',
    'preflash://app/missing.js',
    'preflash://app/..%2fsecret.txt',
    'preflash://app/%2e%2e%2fsecret.txt',
    'https://app/',
  ])('serves nothing at %s', async url => {
    const response = await answer(new Request(url))
    expect(response.status).toBe(404)
    expect(await response.text()).not.toContain('secret')
    expect(response.headers.get('content-security-policy')).toContain("default-src 'none'")
  })

  it('takes nothing but GET', async () => {
    expect((await answer(new Request('preflash://app/', { method: 'POST', body: 'x' }))).status).toBe(404)
  })

  it('is an ordinary secure origin, bound by its policy', () => {
    expect(SCHEME_PRIVILEGES).toEqual({
      scheme: 'preflash',
      privileges: {
        standard: true,
        secure: true,
        supportFetchAPI: true,
        bypassCSP: false,
        corsEnabled: false,
      },
    })
  })
})

describe('requests that leave the page', () => {
  it.each([
    'preflash://app/assets/a.js',
    'data:image/png;base64,AA',
    'blob:preflash://app/1',
    'devtools://devtools/a',
  ])('go to %s', url => expect(allowRequest(url)).toBe(true))
  it.each([
    'https://evil.example/',
    'http://127.0.0.1/',
    'file:///etc/passwd',
    'ws://evil.example/',
    'ftp://x/',
    '',
  ])('do not go to %j', url => expect(allowRequest(url)).toBe(false))
})
