import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { ensureBuilt, projectRoot } from '../../main/scripts/build.mjs'
import { programAtPty } from '../support/pty.ts'
import { tool } from '../support/tools.ts'
import { fileOf, nodeProgram, sx } from './senders.ts'
import type { Measured } from './table.ts'

/**
 * What a person gets: `preflash write --direct` as it is built, in a process that has just begun, with its logbook on
 * the disk, and `sx -k` of the same file to the same receiver in C. Both are timed at the receiver, from its start to
 * its end, so that nobody's own start counts; about a second of it is the pause of `rx` after the last block.
 */

const RUNS = 5
const BYTES = 2 * 1024 * 1024

interface Sender {
  readonly name: string
  readonly write: (port: string) => Promise<void>
}

export async function benchCommand(): Promise<Measured[]> {
  if (tool('socat') === undefined || tool('sx') === undefined)
    return [
      { what: 'The command line against sx -k', value: 'LEFT OUT: no lrzsz here', goal: '', reached: true },
    ]
  await ensureBuilt()
  const folder = mkdtempSync(join(tmpdir(), 'preflash-bench-command-'))
  const file = join(folder, 'image.bin')
  const octets = fileOf(BYTES)
  writeFileSync(file, octets)
  try {
    const took = new Map<string, number[]>()
    const senders: readonly Sender[] = [
      { name: 'sx -k', write: port => sx(port, file) },
      { name: 'preflash write', write: port => preflash(port, file, folder) },
    ]
    for (let i = 0; i < RUNS; i++)
      for (const sender of senders) {
        const ms = await receivedMs(sender, folder, octets)
        took.set(sender.name, [...(took.get(sender.name) ?? []), ms])
      }
    return senders.map(({ name }) => {
      const sorted = (took.get(name) ?? []).toSorted((a, b) => a - b)
      const value = `${sorted[0].toFixed(0)}, ${sorted[Math.floor(RUNS / 2)].toFixed(0)} ms`
      const what = `2 MiB to rx -c, timed there, least and median of ${RUNS}: ${name}`
      return { what, value, goal: '', reached: true }
    })
  } finally {
    rmSync(folder, { recursive: true, force: true })
  }
}

const preflash = (port: string, file: string, folder: string): Promise<void> =>
  nodeProgram([
    ...[join(projectRoot, 'out', 'main', 'cli.js'), 'write', '--direct', '--confirm', 'wiring'],
    ...['--port', port, '--dialect', 'xmodem-1k', '--image', file, '--data', join(folder, 'data')],
  ])

async function receivedMs(sender: Sender, folder: string, octets: Uint8Array): Promise<number> {
  const [out, from, to] = ['out.bin', 'from', 'to'].map(name => join(folder, name))
  rmSync(out, { force: true })
  const peer = await programAtPty('date +%s%N >from; rx -q -c out.bin; date +%s%N >to', folder)
  try {
    await sender.write(peer.path)
    await peer.ended
    if (!readFileSync(out).subarray(0, octets.length).equals(octets))
      throw new Error(`the receiver did not get the file from ${sender.name}`)
    const ns = (path: string) => BigInt(readFileSync(path, 'utf8').trim())
    return Number(ns(to) - ns(from)) / 1e6
  } finally {
    await peer.end()
  }
}
