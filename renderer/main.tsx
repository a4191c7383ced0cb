import './api/strict.ts'
import './ui/base.css'
import './app/app.css'
import { StrictMode } from 'react'
import { createRoot } from 'react-dom/client'
import { connectClient } from './api/client.ts'
import { App } from './app/App.tsx'
import { Fallback } from './app/Fallback.tsx'
import { loadSettings } from './state/settings.ts'
import { BenchProvider, loadDraft } from './state/use-bench.tsx'

const client = connectClient()
const root = document.getElementById('root')
if (root !== null) {
  // Asked before the first paint, so that the window does not come up in the wrong colours or offer the wrong start.
  const [settings, leftBehind] = await Promise.all([loadSettings(client), loadDraft(client)])
  window.addEventListener('pagehide', () => settings.flush())
  createRoot(root).render(
    <StrictMode>
      <Fallback>
        <BenchProvider client={client} leftBehind={leftBehind}>
          <App client={client} settings={settings} />
        </BenchProvider>
      </Fallback>
    </StrictMode>,
  )
}
