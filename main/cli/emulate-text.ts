import { outcomeWords } from '../../shared/procedure/effects.ts'
import type { Emulation, Held } from '../../shared/rehearse/emulate.ts'
import { faultsOf, LIVE_DIALECTS } from '../../shared/rehearse/live-dialects.ts'
import { LIVE_FAULTS } from '../../shared/rehearse/live-faults.ts'
import { FLASH_OP, type FlashOpKind, type Told } from '../../shared/sim/trace.ts'
import type { EmulatorEnd } from '../serial/emulator.ts'
import { settingsText } from '../serial/port.ts'

/** What an emulated receiver hears and does, and what it holds in the end, in plain words. */

const flashWords: Readonly<Record<FlashOpKind, string>> = {
  [FLASH_OP.erase]: 'It erases its program flash.',
  [FLASH_OP.program]: 'It writes its program flash.',
  [FLASH_OP.recordErase]: 'It notes which image it may start.',
  [FLASH_OP.recordProgram]: 'It notes which image it may start.',
  [FLASH_OP.bootErase]: 'It erases its boot loader.',
  [FLASH_OP.bootProgram]: 'It writes its boot loader.',
}
/** Told by the flash itself. */
const FLASH_STATES = ['erasing', 'writing', 'making the image valid']

export interface Line {
  readonly atMs: number
  readonly kind: 'receiver' | 'flash' | 'fault' | 'refused'
  readonly text: string
}

/** Makes sentences of what happens; what goes on as it was is not said again. */
export class Teller {
  #flash = ''

  /** @returns nothing where nothing new is to be said */
  tell(told: Told): Line | undefined {
    const line = this.#line(told)
    if (line?.kind === 'flash') {
      if (line.text === this.#flash) return undefined
      this.#flash = line.text
    } else if (line) this.#flash = ''
    return line
  }

  #line(told: Told): Line | undefined {
    const atMs = Math.round(told.atNs / 1e3) / 1e3
    if (told.told === 'flash') return { atMs, kind: 'flash', text: flashWords[told.kind] }
    if (told.told === 'device') {
      if (told.device !== 'receiver' || FLASH_STATES.includes(told.state)) return undefined
      return { atMs, kind: 'receiver', text: `The receiver is ${told.state}.` }
    }
    const { event } = told
    if (event.kind === 'fault') return { atMs, kind: 'fault', text: event.text }
    if (event.kind === 'refused') return { atMs, kind: 'refused', text: `It refuses: ${event.text}` }
    return undefined
  }
}

const seconds = (ms: number): string => `${(ms / 1000).toFixed(2)} s`.padStart(10)
export const lineText = ({ atMs, text }: Line): string => `${seconds(atMs)}  ${text}`

/** @param byKey the Enter key is listened to */
export function beginText(
  emulation: Emulation,
  port: string,
  hostPort: string | undefined,
  byKey: boolean,
): string {
  const { dialect, unit, type, line } = emulation
  return [
    `EMULATED. ${unit.nickname} (${type.maker} ${type.name}) at ${port}, ${settingsText(line)}.`,
    `${dialect.label}.`,
    emulation.echo
      ? 'On one wire: whoever writes to it hears what it says itself (--echo no, if your wiring has two).'
      : 'On two wires: whoever writes to it does not hear itself (--echo yes, if your wiring has one).',
    ...(hostPort === undefined ? [] : [`The other end of the line, for whoever writes to it: ${hostPort}`]),
    `Times count from now.${byKey ? ' The Enter key switches the receiver off and on.' : ''} Ctrl+C ends it.`,
    '',
  ].join('\n')
}

export function endText(end: EmulatorEnd, held: Held): string {
  const { times, meanMs, worstMs } = end.lateness
  return [
    '',
    `${end.text} It was played for ${seconds(end.playedMs).trim()}, heard ${end.heardOctets} octets and said ${end.saidOctets}.`,
    ...(times === 0
      ? []
      : [
          `What it said went out ${meanMs.toFixed(1)} ms late on average, ${worstMs.toFixed(1)} ms at the worst.`,
        ]),
    ...(end.overrunOctets === 0 ? [] : [`${end.overrunOctets} octets came too fast and were lost.`]),
    `Outcome: ${held.outcome}. ${outcomeWords[held.outcome]} Firmware: ${held.firmware}.`,
    `SHA-256 of its ${held.programBytes} octets of program flash: ${held.programSha256}`,
    '',
  ].join('\n')
}

export function listing() {
  return {
    dialects: LIVE_DIALECTS.map(d => ({
      name: d.name,
      label: d.label,
      faults: faultsOf(d).map(f => f.name),
    })),
    faults: LIVE_FAULTS.map(({ name, label, mechanism, parameter }) => ({
      name,
      label,
      mechanism,
      parameter,
    })),
  }
}

export function listingText(): string {
  const { dialects } = listing()
  return [
    'Dialects',
    ...dialects.map(d => `  ${d.name.padEnd(14)}${d.label}`),
    'Faults',
    ...LIVE_FAULTS.map(f => {
      const usual = f.parameter === undefined ? '' : `=${f.parameter.usual}`
      const unit = f.parameter?.kind === 'number' ? ` ${f.parameter.unit}` : ''
      const where = f.busOnly ? ' (preflash-bus only)' : ''
      return `  ${f.name.padEnd(19)}${`${usual}${unit}`.padEnd(18)}${f.label}${where}`.trimEnd()
    }),
    '',
  ].join('\n')
}
