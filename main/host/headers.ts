/**
 * The one content security policy of the workbench, over HTTP and over the desktop shell's own scheme alike:
 * nothing but what was delivered with the program, no inline code or style, no frames, no forms, no plug-ins.
 */
export function contentSecurityPolicy(connect: readonly string[] = []): string {
  return [
    "default-src 'none'",
    "script-src 'self'",
    "style-src 'self'",
    "img-src 'self' data: blob:",
    "font-src 'self'",
    `connect-src ${["'self'", ...connect].join(' ')}`,
    "worker-src 'self'",
    "object-src 'none'",
    "base-uri 'none'",
    "form-action 'none'",
    "frame-src 'none'",
    "frame-ancestors 'none'",
  ].join('; ')
}

/** Headers that every answer carries. `connect` names the socket addresses the page may open. */
export function securityHeaders(connect: readonly string[] = []): Readonly<Record<string, string>> {
  return {
    'Content-Security-Policy': contentSecurityPolicy(connect),
    'X-Content-Type-Options': 'nosniff',
    'X-Frame-Options': 'DENY',
    'Referrer-Policy': 'no-referrer',
    'Cross-Origin-Opener-Policy': 'same-origin',
    'Cross-Origin-Resource-Policy': 'same-origin',
    'Permissions-Policy': 'camera=(), microphone=(), geolocation=(), usb=(), serial=(), hid=()',
  }
}
