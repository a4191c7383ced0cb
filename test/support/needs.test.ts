import { afterEach, describe, expect, it, vi } from 'vitest'
import { needs, titled } from './needs.ts'

describe('what a suite needs', () => {
  afterEach(() => {
    vi.unstubAllEnvs()
  })

  it('is said in the title when it is not here', () => {
    vi.stubEnv('PATH', '/nonexistent')
    expect(needs('srec_cat')).toBeUndefined()
    expect(titled('a comparison', 'srec_cat')).toBe(
      'a comparison (LEFT OUT: srec_cat is not here, Debian package srecord)',
    )
  })

  it('leaves the title alone when nothing is needed', () =>
    expect(titled('a comparison')).toBe('a comparison'))
})
