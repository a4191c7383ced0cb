import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { openPort } from '../../main/serial/open-port.ts'
import { runOnPort } from '../../main/serial/runner.ts'
import { demoBench } from '../../shared/demo/bench.ts'
import { builtInDialects } from '../../shared/dialect/built-in/all.ts'
import { writeByDialect } from '../../shared/dialect/interpret.ts'
import type { DialectPlan } from '../../shared/dialect/plan.ts'
import { type Bench, writeBench } from '../../shared/model/bench.ts'
import { layEmulation } from '../../shared/rehearse/emulate.ts'
import { VirtualCard } from '../../shared/sim/card.ts'
import { TraceRecorder } from '../../shared/sim/trace.ts'
import { EmulatingQuietly } from '../support/emulating-quietly.ts'
import { LiveLoop } from '../support/live-loop.ts'
import { programAtPty } from '../support/pty.ts'
import { tool } from '../support/tools.ts'
import { bareBlocks, bareSender } from './bare-sender.ts'
import { fileOf, sx } from './senders.ts'
import type { Measured } from './table.ts'

/**
 * Writing over ports without pace against a sender in C, in turn and in one run: to the same emulated receiver in a
 * process of its own, which takes the time from the host's first octet to its last, and to the same receiver in C
 * (`rx -c`), whose pauses at the beginning and the end both have in their time. And on a line with its pace against
 * what line and protocol allow.
 */

/** What else the machine does only ever adds: the least of several is what the program itself takes. */
const RUNS = 7
const PACED_RUNS = 5
const RX_RUNS = 9
const FAST_BYTES = 256 * 1024
const PACED_BYTES = 32 * 1024
const RX_BYTES = 2 * 1024 * 1024
const DIALECT = 'xmodem-1k'

/** Flash that takes hardly any time, so that it does not hide what the sender takes. */
function quickBench(): Bench {
  const demo = demoBench()
  const receiverTypes = demo.catalogue.receiverTypes.map(type => ({
    ...type,
    flash: {
      ...type.flash,
      eraseMs: { least: 0.01, most: 0.01 },
      programMicros: { least: 0.01, most: 0.01 },
    },
  }))
  return { ...demo, catalogue: { ...demo.catalogue, receiverTypes } }
}

const planOf = (octets: Uint8Array): DialectPlan => {
  const dialect = builtInDialects().get(DIALECT)
  if (dialect === undefined) throw new Error(`there is no dialect ${DIALECT}`)
  const image = { octets, address: 0, fileName: 'image.bin' }
  return {
    dialect,
    baud: 115_200,
    image,
    pages: [],
    expectBefore: {},
    expectAfter: {},
    attempts: 1,
    inSeries: true,
  }
}

async function ourSender(path: string, octets: Uint8Array): Promise<void> {
  const port = await openPort({ kind: 'local', path }, { baud: 115_200, parity: 'none', stopBits: 1 })
  const end = await runOnPort(writeByDialect(planOf(octets)), {
    port,
    echo: false,
    store: () => ({ got: 'failed', why: 'absent' }),
    onEvent: () => {},
    signal: new AbortController().signal,
    nowMs: () => performance.now(),
  })
  await port.close()
  if (end.ended !== 'returned' || end.value.ended !== 'done')
    throw new Error('our own write did not go through')
}

interface Took {
  readonly ms: number
  /** A block and its answer, the middle of all. */
  readonly blockMs: number
}

/** @returns what the emulator measured, in milliseconds */
async function session(args: readonly string[], write: (path: string) => Promise<void>): Promise<Took> {
  const folder = mkdtempSync(join(tmpdir(), 'preflash-bench-emulated-'))
  const emulating = new EmulatingQuietly(folder, '--dialect', DIALECT, '--once', '1.5', ...args)
  try {
    await write((await emulating.first('ready')).hostPort ?? '')
    const { hostMs = Number.NaN, exchangeMs = Number.NaN } = await emulating.first('end')
    await emulating.code
    return { ms: hostMs, blockMs: exchangeMs }
  } finally {
    emulating.child.kill()
    rmSync(folder, { recursive: true, force: true })
  }
}

/** The same session with a host that loses no time at all, in the time of the simulation. */
function allowedMs(octets: Uint8Array): number {
  const faults = { faults: [], seed: 1, echo: false, pace: 'line' } as const
  const laid = layEmulation({ bench: demoBench(), receiverId: 'wren-trainer', dialect: DIALECT, ...faults })
  if (!laid.ok) throw new Error(laid.problems[0].message)
  const { live } = laid.value
  const loop = new LiveLoop(live, new VirtualCard(undefined, new TraceRecorder()))
  loop.run(writeByDialect(planOf(octets)))
  const [lane] = live.device.trace.done(loop.nowNs).lanes
  const host = [...lane.talker].flatMap((talker, i) => (talker === 0 ? [lane.startNs[i]] : []))
  return (host[host.length - 1] - host[0]) / 1e6
}

const median = (runs: readonly Took[], of: keyof Took = 'ms') =>
  runs.map(run => run[of]).sort((a, b) => a - b)[Math.floor(runs.length / 2)]
const least = (runs: readonly Took[], of: keyof Took = 'ms') => Math.min(...runs.map(run => run[of]))

export async function benchSerial(): Promise<Measured[]> {
  if (tool('socat') === undefined) return []
  const folder = mkdtempSync(join(tmpdir(), 'preflash-bench-'))
  try {
    return [...(await againstSx(folder)), ...(await toReceiverInC(folder)), ...(await againstLine(folder))]
  } finally {
    rmSync(folder, { recursive: true, force: true })
  }
}

async function againstSx(folder: string): Promise<Measured[]> {
  if (tool('sx') === undefined) return []
  const [file, bench] = [join(folder, 'image.bin'), join(folder, 'bench.json')]
  const octets = fileOf(FAST_BYTES)
  writeFileSync(file, octets)
  writeFileSync(bench, writeBench(quickBench()))
  const args = ['--bench', bench, '--receiver', 'wren-trainer', '--pace', 'none']
  const ours: Took[] = []
  const theirs: Took[] = []
  // In turn, so that whatever else the machine does hits both.
  for (let i = 0; i < RUNS; i++) {
    theirs.push(await session(args, path => sx(path, file)))
    ours.push(await session(args, path => ourSender(path, octets)))
  }
  const what = '256 KiB by XMODEM-1K to an emulated receiver without pace'
  return [
    ...compared(what, ours, theirs),
    ...compared('of that, a block and its answer', ours, theirs, 'blockMs'),
  ]
}

function said(runs: readonly Took[], of: keyof Took = 'ms'): string {
  const digits = of === 'ms' ? 0 : 2
  return `${least(runs, of).toFixed(digits)}, ${median(runs, of).toFixed(digits)} ms`
}

/** Least and median of all runs, theirs and ours. */
function compared(
  what: string,
  ours: readonly Took[],
  theirs: readonly Took[],
  of: keyof Took = 'ms',
): Measured[] {
  const all = `${what}, least and median of ${ours.length}`
  const reached = least(ours, of) <= least(theirs, of) && median(ours, of) <= median(theirs, of)
  return [
    { what: `${all}: sx -k`, value: said(theirs, of), goal: '', reached: true },
    { what: `${all}: ours`, value: said(ours, of), goal: 'not slower than sx -k', reached },
  ]
}

async function toReceiverInC(folder: string): Promise<Measured[]> {
  if (tool('sx') === undefined) return []
  const octets = fileOf(RX_BYTES)
  const file = join(folder, 'image.bin')
  writeFileSync(file, octets)
  const ours: Took[] = []
  const theirs: Took[] = []
  const bare: Took[] = []
  const blocks = bareBlocks(octets)
  for (let i = 0; i < RX_RUNS; i++) {
    theirs.push(await toRx(folder, octets, path => sx(path, file)))
    bare.push(await toRx(folder, octets, async path => bareSender(path, blocks)))
    ours.push(await toRx(folder, octets, path => ourSender(path, octets)))
  }
  const what = '2 MiB by XMODEM-1K to rx -c'
  const floor = `${what}, least and median of ${RX_RUNS}: a sender in Node.js that does nothing else`
  return [{ what: floor, value: said(bare), goal: '', reached: true }, ...compared(what, ours, theirs)]
}

async function toRx(
  folder: string,
  octets: Uint8Array,
  write: (path: string) => Promise<void>,
): Promise<Took> {
  const peer = await programAtPty('rx -q -c out.bin', folder)
  try {
    const startedMs = performance.now()
    await write(peer.path)
    const ms = performance.now() - startedMs
    await peer.ended
    if (!readFileSync(join(folder, 'out.bin')).subarray(0, octets.length).equals(octets))
      throw new Error('the receiver did not get the file')
    return { ms, blockMs: Number.NaN }
  } finally {
    await peer.end()
  }
}

async function againstLine(folder: string): Promise<Measured[]> {
  const octets = fileOf(PACED_BYTES)
  const file = join(folder, 'paced.bin')
  writeFileSync(file, octets)
  const args = ['--receiver', 'wren-trainer', '--seed', '1', '--pace', 'line']
  const ours: Took[] = []
  const theirs: Took[] = []
  for (let i = 0; i < PACED_RUNS; i++) {
    if (tool('sx') !== undefined) theirs.push(await session(args, path => sx(path, file)))
    ours.push(await session(args, path => ourSender(path, octets)))
  }
  const allowed = allowedMs(octets)
  const over = (least(ours) / allowed - 1) * 100
  const what = '32 KiB by XMODEM-1K at 115,200 baud'
  return [
    ...(theirs.length > 0 ? compared(what, ours, theirs) : []),
    {
      what: `${what}, over what line, protocol and flash allow (${allowed.toFixed(0)} ms), least of ${PACED_RUNS}`,
      value: `${over.toFixed(2)} %`,
      goal: 'within 3 %',
      reached: over <= 3,
    },
  ]
}
