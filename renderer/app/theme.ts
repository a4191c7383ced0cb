export const THEMES = ['system', 'light', 'dark', 'contrast'] as const
export type Theme = (typeof THEMES)[number]

export const themeWords: Readonly<Record<Theme, string>> = {
  system: 'As the system',
  light: 'Light',
  dark: 'Dark',
  contrast: 'High contrast',
}

/** Sets the theme on the document; `system` follows the system's wishes for dark and for contrast. */
export function applyTheme(theme: Theme): void {
  const wantsContrast = matchMedia('(prefers-contrast: more)').matches
  const wantsDark = matchMedia('(prefers-color-scheme: dark)').matches
  const shown = theme !== 'system' ? theme : wantsContrast ? 'contrast' : wantsDark ? 'dark' : 'light'
  document.documentElement.dataset.theme = shown
}

/** Follows the system while the choice is `system`. @returns how to stop */
export function followSystem(current: () => Theme): () => void {
  const queries = ['(prefers-contrast: more)', '(prefers-color-scheme: dark)'].map(q => matchMedia(q))
  const again = () => applyTheme(current())
  for (const query of queries) query.addEventListener('change', again)
  return () => {
    for (const query of queries) query.removeEventListener('change', again)
  }
}
