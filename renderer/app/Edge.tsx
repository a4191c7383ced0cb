import { THEMES, type Theme, themeWords } from './theme.ts'
import { VIEWS, type ViewId } from './views.ts'

export interface EdgeProps {
  readonly view: ViewId | undefined
  readonly onView: (view: ViewId) => void
  readonly canShow: boolean
  readonly theme: Theme
  readonly onTheme: (theme: Theme) => void
  readonly onHome: () => void
}

export function Edge({ view, onView, canShow, theme, onTheme, onHome }: EdgeProps) {
  return (
    <nav className="app-edge" aria-label="Views">
      {canShow &&
        VIEWS.map(v => (
          <button
            key={v.id}
            type="button"
            className="app-edge-item"
            aria-current={view === v.id ? 'page' : undefined}
            onClick={() => onView(v.id)}
          >
            {v.name}
            <small>{v.asks}</small>
          </button>
        ))}
      <div className="app-edge-rest">
        <button type="button" className="app-edge-item" onClick={onHome}>
          Benches
          <small>Open, new, demo</small>
        </button>
        <label>
          Colours
          <select value={theme} onChange={e => onTheme(e.target.value as Theme)}>
            {THEMES.map(t => (
              <option key={t} value={t}>
                {themeWords[t]}
              </option>
            ))}
          </select>
        </label>
      </div>
    </nav>
  )
}
