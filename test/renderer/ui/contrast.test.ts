import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'

/** WCAG 2.2, success criteria 1.4.3 and 1.4.11; relative luminance and contrast ratio as defined there. */
const css = readFileSync('renderer/ui/tokens.css', 'utf8')

function themes(): Map<string, Map<string, string>> {
  const found = new Map<string, Map<string, string>>()
  for (const block of css.matchAll(/:root(?:\[data-theme='(\w+)'\])?\s*\{([^}]*)\}/g)) {
    const colours = [...block[2].matchAll(/--([a-z-]+):\s*(#[0-9a-f]{6})/g)]
    if (colours.length > 0) found.set(block[1] ?? 'light', new Map(colours.map(c => [c[1], c[2]])))
  }
  return found
}

function luminance(hex: string): number {
  const [r, g, b] = [1, 3, 5].map(i => {
    const c = Number.parseInt(hex.slice(i, i + 2), 16) / 255
    return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4
  })
  return 0.2126 * r + 0.7152 * g + 0.0722 * b
}

function contrast(a: string, b: string): number {
  const [light, dark] = [luminance(a), luminance(b)].sort((x, y) => y - x)
  return (light + 0.05) / (dark + 0.05)
}

const GROUNDS = ['ground', 'raised', 'sunken']
const TEXT_PAIRS: [string, string][] = [
  ...['ink', 'ink-soft', 'accent', 'good', 'caution', 'danger'].flatMap(text =>
    GROUNDS.map((ground): [string, string] => [text, ground]),
  ),
  ['accent-ink', 'accent'],
  ['rehearsal-ink', 'rehearsal'],
  ['ink', 'rehearsal'],
  ...['accent', 'good', 'caution', 'danger'].flatMap((role): [string, string][] => [
    [role, `${role}-soft`],
    ['ink', `${role}-soft`],
    // A button without a frame.
    ['accent', `${role}-soft`],
  ]),
  ['accent', 'rehearsal'],
]

describe('colour tokens', () => {
  const all = themes()
  it('has a light, a dark and a high contrast theme with the same roles', () => {
    expect([...all.keys()].sort()).toEqual(['contrast', 'dark', 'light'])
    const roles = [...all.values()].map(t => [...t.keys()].sort().join())
    expect(new Set(roles).size).toBe(1)
  })

  it('knows black on white as 21 to 1', () => expect(contrast('#000000', '#ffffff')).toBeCloseTo(21, 5))

  for (const [theme, colours] of all) {
    const least = theme === 'contrast' ? 7 : 4.5
    for (const [text, ground] of TEXT_PAIRS)
      it(`${theme}: ${text} on ${ground} is at least ${least} to 1`, () => {
        const [t, g] = [colours.get(text), colours.get(ground)]
        if (t === undefined || g === undefined) throw new Error(`${theme} has no ${text} or ${ground}`)
        expect(contrast(t, g)).toBeGreaterThanOrEqual(least)
      })
    for (const ground of GROUNDS)
      it(`${theme}: a control's outline shows on ${ground}, 3 to 1`, () =>
        expect(contrast(colours.get('line-strong') ?? '', colours.get(ground) ?? '')).toBeGreaterThanOrEqual(
          3,
        ))
  }
})
