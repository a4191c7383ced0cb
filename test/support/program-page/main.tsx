import '../../../renderer/ui/base.css'
import '../../../renderer/app/app.css'
import '../../../renderer/bench/bench.css'
import { useState } from 'react'
import { createRoot } from 'react-dom/client'
import { usePlan } from '../../../renderer/bench/plan/use-plan.ts'
import type { ProgramClient } from '../../../renderer/bench/program/client.ts'
import { WriteDesk } from '../../../renderer/bench/program/desk.ts'
import { Lanes } from '../../../renderer/bench/program/Lanes.tsx'
import { ProgramWay } from '../../../renderer/bench/program/ProgramWay.tsx'
import { Recovery } from '../../../renderer/bench/program/Recovery.tsx'
import { useWrites } from '../../../renderer/bench/program/use-desk.ts'
import { noProblems } from '../../../renderer/rehearse/setup/problems.ts'
import { demoBench, demoDefaults } from '../../../shared/demo/bench.ts'
import { scriptedMachine } from './machine.ts'

/** The programmer's side by itself, on a machine that plays a script; the address says which, and the theme. */

const asked = new URLSearchParams(location.search)
document.documentElement.dataset.theme = asked.get('theme') ?? 'light'

const client = scriptedMachine(asked.get('script') ?? 'fresh') as ProgramClient
const kept = new Map<string, string>()
const memory = {
  getItem: (name: string) => kept.get(name) ?? null,
  setItem: (name: string, value: string) => void kept.set(name, value),
}
const desk = new WriteDesk(client, memory)
desk.listen()

function Page() {
  const [bench, setBench] = useState(demoBench())
  const [receiverId, setReceiver] = useState<string>(demoDefaults.receiverId)
  const receiver = bench.receivers.find(r => r.id === receiverId)
  const plan = usePlan(bench, receiverId, undefined, memory)
  const { recovery } = useWrites(desk)
  if (receiver === undefined) return null
  return (
    <div className="bn-body bn-body-wide">
      <h1 className="visually-hidden">Bench</h1>
      <h2 className="visually-hidden">A programmer writes it</h2>
      {recovery && (
        <Recovery
          recovery={recovery}
          desk={desk}
          bench={bench}
          onChooseReceiver={setReceiver}
          onOpenBench={setBench}
        />
      )}
      <Lanes
        bench={bench}
        client={client}
        desk={desk}
        memory={memory}
        onChangeBench={(_, next) => setBench(next)}
        onDiagnose={() => {}}
        adviceBefore={() => undefined}
        onSettled={async () => ''}
        onNextReceiver={setReceiver}
      />
      <ProgramWay
        bench={bench}
        receiver={receiver}
        plan={plan}
        rehearsal={{
          shown: undefined,
          busy: false,
          underWay: undefined,
          wasCancelled: false,
          run: async () => 'overtaken',
          cancel: () => {},
          clearProblems: () => {},
          problems: noProblems,
        }}
        onRehearse={() => {}}
        client={client}
        desk={desk}
        onChangeBench={(_, next) => setBench(next)}
      />
    </div>
  )
}

const root = document.getElementById('root')
if (root !== null) createRoot(root).render(<Page />)
