/** Colours and type of the page, for canvases: the tokens of ui/tokens.css as the browser resolves them. */
export interface Palette {
  readonly ground: string
  readonly raised: string
  readonly sunken: string
  readonly ink: string
  readonly inkSoft: string
  readonly line: string
  readonly accent: string
  readonly accentInk: string
  readonly good: string
  readonly caution: string
  readonly danger: string
  readonly sans: string
  readonly mono: string
}

const TOKENS = {
  ground: '--ground',
  raised: '--raised',
  sunken: '--sunken',
  ink: '--ink',
  inkSoft: '--ink-soft',
  line: '--line',
  accent: '--accent',
  accentInk: '--accent-ink',
  good: '--good',
  caution: '--caution',
  danger: '--danger',
} as const

/** A token may hold anything that is a colour to CSS, so a probe element is asked what comes of it. */
export function readPalette(host: HTMLElement): Palette {
  const probe = document.createElement('span')
  probe.hidden = true
  host.append(probe)
  const colour = (token: string) => {
    probe.style.color = `var(${token}, currentcolor)`
    return getComputedStyle(probe).color
  }
  const colours = Object.fromEntries(Object.entries(TOKENS).map(([name, token]) => [name, colour(token)]))
  probe.className = 'rh-mono'
  const mono = getComputedStyle(probe).fontFamily
  probe.remove()
  return {
    ...(colours as Record<keyof typeof TOKENS, string>),
    sans: getComputedStyle(host).fontFamily,
    mono,
  }
}

/** Calls back when light, dark or contrast change, by the system's setting or by the page's own switch. */
export function onPaletteChange(changed: () => void): () => void {
  const queries = ['(prefers-color-scheme: dark)', '(prefers-contrast: more)', '(forced-colors: active)'].map(
    q => matchMedia(q),
  )
  for (const query of queries) query.addEventListener('change', changed)
  const observer = new MutationObserver(changed)
  for (const element of [document.documentElement, document.body])
    observer.observe(element, {
      attributes: true,
      attributeFilter: ['class', 'data-theme', 'data-contrast', 'style'],
    })
  return () => {
    for (const query of queries) query.removeEventListener('change', changed)
    observer.disconnect()
  }
}
