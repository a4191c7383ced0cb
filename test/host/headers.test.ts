import { describe, expect, it } from 'vitest'
import { contentSecurityPolicy, securityHeaders } from '../../main/host/headers.ts'

function directives(policy: string): Map<string, string[]> {
  return new Map(policy.split('; ').map(line => [line.split(' ')[0], line.split(' ').slice(1)]))
}

describe('the content security policy', () => {
  const policy = directives(contentSecurityPolicy(['ws://127.0.0.1:1']))

  // Content Security Policy Level 3, https://www.w3.org/TR/CSP3/
  it('allows nothing that is not named', () => {
    expect(policy.get('default-src')).toEqual(["'none'"])
  })

  it('takes code, style and fonts from the program alone, none of it inline', () => {
    for (const name of ['script-src', 'style-src', 'font-src', 'worker-src'])
      expect(policy.get(name)).toEqual(["'self'"])
    expect(contentSecurityPolicy()).not.toMatch(/unsafe|\*|https?:/)
  })

  it('talks to the program alone', () => {
    expect(policy.get('connect-src')).toEqual(["'self'", 'ws://127.0.0.1:1'])
    expect(directives(contentSecurityPolicy()).get('connect-src')).toEqual(["'self'"])
  })

  // These do not fall back to default-src, or are worth saying twice.
  it.each(['base-uri', 'form-action', 'frame-ancestors', 'frame-src', 'object-src'])('shuts %s', name => {
    expect(policy.get(name)).toEqual(["'none'"])
  })

  it('lets pictures be made in the page, but not fetched from elsewhere', () => {
    expect(policy.get('img-src')).toEqual(["'self'", 'data:', 'blob:'])
  })
})

it('other headers keep the page apart from other pages', () => {
  expect(securityHeaders()).toMatchObject({
    'X-Content-Type-Options': 'nosniff',
    'X-Frame-Options': 'DENY',
    'Referrer-Policy': 'no-referrer',
    'Cross-Origin-Opener-Policy': 'same-origin',
    'Cross-Origin-Resource-Policy': 'same-origin',
  })
  expect(securityHeaders()['Permissions-Policy']).toContain('camera=()')
})
