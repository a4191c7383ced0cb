import '../../../renderer/ui/base.css'
import { useState } from 'react'
import { createRoot } from 'react-dom/client'
import { type ChosenWiring, firstChoices } from '../../../renderer/bench/wiring/use-wiring.ts'
import { WiringPanel } from '../../../renderer/bench/wiring/WiringPanel.tsx'
import { demoBench } from '../../../shared/demo/bench.ts'

/** The wiring panel by itself on the demo bench; the address says which receiver, cable, adapter, feed and theme. */

const asked = new URLSearchParams(location.search)
document.documentElement.dataset.theme = asked.get('theme') ?? 'light'

function Page() {
  const [history, setHistory] = useState([{ label: '', bench: demoBench() }])
  const { bench, label } = history[0]
  const [choices, setChoices] = useState<ChosenWiring>({
    ...firstChoices(bench),
    ...(asked.get('cable') ? { cableId: asked.get('cable') ?? undefined } : {}),
    ...(asked.get('adapter') ? { adapterId: asked.get('adapter') ?? undefined } : {}),
    feed: (asked.get('feed') ?? 'through-cable') as ChosenWiring['feed'],
  })
  return (
    <>
      <h1 className="visually-hidden">Wiring</h1>
      <WiringPanel
        bench={bench}
        receiverId={asked.get('receiver') ?? 'wren-trainer'}
        choices={choices}
        onChoose={setChoices}
        onChangeBench={(said, next) => setHistory([{ label: said, bench: next }, ...history])}
      />
      {history.length > 1 && (
        <button type="button" className="button" onClick={() => setHistory(history.slice(1))}>
          Undo: {label}
        </button>
      )}
    </>
  )
}

const root = document.getElementById('root')
if (root !== null) createRoot(root).render(<Page />)
