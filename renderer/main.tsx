import './api/strict.ts'
import { StrictMode, useEffect, useState } from 'react'
import { createRoot } from 'react-dom/client'
import type { AppContract } from '../shared/api/contract.ts'
import type { ReplyOf } from '../shared/api/define.ts'
import { connectClient } from './api/client.ts'

const client = connectClient()

function About() {
  const [info, setInfo] = useState<ReplyOf<AppContract, 'app.info'>>()
  const [failure, setFailure] = useState<string>()
  useEffect(() => {
    client.call('app.info', {}).then(setInfo, error => setFailure(String(error.message)))
  }, [])
  if (failure !== undefined) return <p role="alert">{failure}</p>
  return <main>{info === undefined ? 'Starting…' : `Preflash ${info.version}`}</main>
}

const root = document.getElementById('root')
if (root !== null) {
  createRoot(root).render(
    <StrictMode>
      <About />
    </StrictMode>,
  )
}
