import { readAsset } from '../host/files.ts'
import { securityHeaders } from '../host/headers.ts'
import { isAppUrl, SCHEME } from './guards.ts'

/** What our own scheme may do: it behaves as a secure origin, and is bound by its policy like any other. */
export const SCHEME_PRIVILEGES = {
  scheme: SCHEME,
  privileges: { standard: true, secure: true, supportFetchAPI: true, bypassCSP: false, corsEnabled: false },
} as const

/** Answers requests of our own scheme from the built pages, with the headers that the host would send. */
export function answerFrom(root: string): (request: Request) => Promise<Response> {
  return async request => {
    const asset = isAppUrl(request.url) ? await readAsset(root, new URL(request.url).pathname) : undefined
    if (asset === undefined || request.method !== 'GET') {
      return new Response('There is no such file.\n', { status: 404, headers: securityHeaders() })
    }
    return new Response(asset.bytes, { headers: { ...securityHeaders(), 'Content-Type': asset.contentType } })
  }
}

/** Whether a request may leave the page at all. Nothing is fetched from anywhere but the program itself. */
export function allowRequest(url: string): boolean {
  if (isAppUrl(url)) return true
  return URL.canParse(url) && ['data:', 'blob:', 'devtools:'].includes(new URL(url).protocol)
}
