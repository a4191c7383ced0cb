import { demoBench } from '../../shared/demo/bench.ts'
import { findType } from '../../shared/model/bench.ts'
import type { ReceiverType } from '../../shared/model/catalogue.ts'
import type { Effect, EffectResult, Procedure } from '../../shared/procedure/effects.ts'
import { addressMapOf } from '../../shared/sim/address-map.ts'
import { BootRomDevice } from '../../shared/sim/boot-rom.ts'
import { type BootRomChip, chipFor } from '../../shared/sim/boot-rom-commands.ts'
import { dice } from '../../shared/sim/dice.ts'
import { Flasher } from '../../shared/sim/flasher.ts'
import { blankMemory, type ReceiverMemory } from '../../shared/sim/memory.ts'
import { PowerRail } from '../../shared/sim/power.ts'
import { TraceRecorder } from '../../shared/sim/trace.ts'
import { type lineRig as LineRig, lineRig } from './line-rig.ts'

export const octetsOf = (hex: string): Uint8Array =>
  Uint8Array.from(hex.split(' ').map(pair => Number.parseInt(pair, 16)))
export const hexOf = (octets: ArrayLike<number>): string =>
  Array.from(octets, octet => octet.toString(16).toUpperCase().padStart(2, '0')).join(' ')

/** A receiver with its flash at 08000000 as ST's controllers have it: 8 pages of boot loader, 512 of program, 2 of records. */
export function stType(): ReceiverType {
  const wren = findType(demoBench().catalogue, 'receiverTypes', 'aldwick-wren-6') as ReceiverType
  return { ...wren, flash: { ...wren.flash, programAddress: 0x0800_2000 } }
}

export interface ChipOnTable {
  readonly chip?: Partial<BootRomChip>
  readonly memory?: ReceiverMemory
  readonly bootPinHeld?: boolean
  readonly octetTimeoutMs?: number
  readonly line?: Parameters<typeof LineRig>[0]
}

/** A virtual chip with power on, at the other end of a line at which the test talks. */
export function chipOnTable(options: ChipOnTable = {}) {
  const type = stType()
  const memory = options.memory ?? blankMemory(type)
  const { kernel, line, ear, run } = lineRig({ parity: 'even', ...options.line })
  const host = ear('host', 'radio')
  const trace = new TraceRecorder()
  const feed = { from: 'a supply', openVolts: 5, seriesOhms: 0, limitMilliamps: 1000, throughCable: false }
  const rail = new PowerRail(kernel, trace, {
    feed: { ...feed, backFeedMilliamps: 0, backFeedLimitMilliamps: 0 },
    extraOhms: 0,
    type,
    alwaysMilliamps: 0,
  })
  const flasher = new Flasher({
    kernel,
    trace,
    type,
    timing: dice(1, 'flash'),
    tearing: dice(1, 'tearing'),
    cut: undefined,
    onCut: () => {},
  })
  const map = addressMapOf(type, memory)
  const chip: BootRomChip = { ...chipFor(map.pages, type.flash.wordBytes), ...options.chip }
  const { bootPinHeld = true, octetTimeoutMs } = options
  const device = new BootRomDevice({
    ...{ kernel, trace, line, rail, flasher, type, memory, map, chip, bootPinHeld, octetTimeoutMs },
  })
  rail.connect(device)
  rail.energise(0)
  kernel.runTo(10_000_000)
  /** Says these octets in one go, lets everything happen, and returns what came back. */
  const say = (octets: Uint8Array | string): string => {
    host.got.length = 0
    line.sendOctets(host.party, typeof octets === 'string' ? octetsOf(octets) : octets)
    run()
    return hexOf(host.octets)
  }
  return { kernel, line, rail, flasher, memory, map, chip, device, host, say, run, trace }
}

/** What the whole flash holds, to see that nothing has changed. */
export const contentOf = ({ boot, program, record }: ReceiverMemory): string =>
  [boot, program, record].map(({ octets }) => Buffer.from(octets).toString('latin1')).join('|')

export interface Talk<R> {
  readonly result: R
  /** What the procedure sent, one entry for each send. */
  readonly sent: string[]
  readonly effects: Effect[]
}

/**
 * Carries a procedure on against a peer that is a function: what it answers to what was sent. Waiting takes no time;
 * a receive that the answers do not satisfy times out.
 * @param line what the `line` effect is answered with
 */
export function talk<R>(
  procedure: Procedure<R>,
  peer: (sent: string) => string,
  line: EffectResult = { got: 'done' },
): Talk<R> {
  const sent: string[] = []
  const effects: Effect[] = []
  let waiting = new Uint8Array(0)
  let input: EffectResult = { got: 'done' }
  for (;;) {
    const step = procedure.next(input)
    if (step.done) return { result: step.value, sent, effects }
    const effect = step.value
    effects.push(effect)
    if (effects.length > 100_000) throw new Error('the procedure does not come to an end')
    input = { got: 'done' }
    if (effect.do === 'line') input = line
    else if (effect.do === 'send') {
      sent.push(hexOf(effect.octets))
      const answer = peer(hexOf(effect.octets))
      if (answer !== '') waiting = Uint8Array.of(...waiting, ...octetsOf(answer))
    } else if (effect.do === 'receive') {
      const taken = waiting.length > 0 && effect.until(waiting)
      if (taken === false) input = { got: 'timeout' }
      else {
        input = { got: 'octets', octets: waiting.slice(0, taken) }
        waiting = waiting.slice(taken)
      }
    }
  }
}

/** A peer that follows a script and complains about everything else. */
export function scripted(script: readonly (readonly [sent: string, answer: string])[]) {
  let at = 0
  return (sent: string): string => {
    const line = script[at++]
    if (line?.[0] !== sent) throw new Error(`sent ${sent}, the script has ${line?.[0] ?? 'nothing more'}`)
    return line[1]
  }
}
