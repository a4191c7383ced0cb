import { describe, expect, it } from 'vitest'
import {
  allowHost,
  allowOrigin,
  allowToken,
  makeToken,
  shownToken,
  socketAddresses,
} from '../../main/host/guard.ts'

describe('the Host header', () => {
  it.each(['127.0.0.1:8123', 'localhost:8123', 'LOCALHOST:8123'])('may be %s', host => {
    expect(allowHost(host, 8123)).toBe(true)
  })

  // A name that an attacker owns and re-points at 127.0.0.1 keeps its own name in this header.
  it.each([
    undefined,
    '',
    'evil.example:8123',
    '127.0.0.1',
    '127.0.0.1:8124',
    'localhost',
    '127.0.0.1:8123.evil.example',
    'localhost.evil.example:8123',
    '0.0.0.0:8123',
    '[::1]:8123',
  ])('may not be %s', host => {
    expect(allowHost(host, 8123)).toBe(false)
  })
})

describe('the Origin header', () => {
  it.each(['http://127.0.0.1:8123', 'http://localhost:8123'])('may be %s', origin => {
    expect(allowOrigin(origin, 8123, true)).toBe(true)
  })

  it.each([
    'https://127.0.0.1:8123',
    'http://127.0.0.1:8124',
    'http://127.0.0.1',
    'http://127.0.0.1:8123.evil.example',
    'http://evil.example',
    'null',
    '',
  ])('may not be %j', origin => {
    expect(allowOrigin(origin, 8123, true)).toBe(false)
    expect(allowOrigin(origin, 8123, false)).toBe(false)
  })

  it('may be missing only where browsers leave it out', () => {
    expect(allowOrigin(undefined, 8123, false)).toBe(true)
    expect(allowOrigin(undefined, 8123, true)).toBe(false)
  })
})

describe('the token', () => {
  it('has 256 bits and is another one each time', () => {
    const tokens = Array.from({ length: 50 }, makeToken)
    expect(new Set(tokens).size).toBe(50)
    for (const token of tokens) expect(Buffer.from(token, 'base64url')).toHaveLength(32)
  })

  it('must be the very one', () => {
    const token = makeToken()
    expect(allowToken(token, token)).toBe(true)
    for (const offered of [
      undefined,
      '',
      token.slice(1),
      `${token}x`,
      token.toLowerCase(),
      makeToken(),
      7,
      [token],
    ]) {
      expect(allowToken(offered, token)).toBe(false)
    }
  })

  it('is shown among the protocols', () => {
    expect(shownToken('preflash, preflash.token.abc')).toBe('abc')
    expect(shownToken('preflash.token.abc,preflash')).toBe('abc')
    expect(shownToken('preflash')).toBeUndefined()
    expect(shownToken(undefined)).toBeUndefined()
  })
})

it('lets the page open sockets to the host alone', () => {
  expect(socketAddresses(8123)).toEqual(['ws://127.0.0.1:8123', 'ws://localhost:8123'])
})
