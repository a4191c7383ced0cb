import type { PinRole } from '../model/catalogue.ts'
import type { AdapterRole } from '../model/gear.ts'

/** Which pin may meet which: the one place that knows it, for update cables and for cables of adapters. */

/** What a wire brings to the receiver. */
export type Carried = 'positive' | 'negative' | 'signal' | 'sends' | 'hears' | 'control' | 'nothing'

export type WireVerdict =
  | 'right'
  | 'supply-reversed'
  | 'supply-on-signal'
  | 'ground-on-positive'
  | 'ground-on-signal'
  | 'data-on-positive'
  | 'data-on-negative'
  | 'unused-pin-driven'
  | 'transmit-to-transmit'
  | 'hears-nothing'
  | 'control-on-line'
  | 'data-on-control'
  | 'control-held'

export const carriedBy: Readonly<Record<AdapterRole, Carried>> = {
  ground: 'negative',
  supply: 'positive',
  transmit: 'sends',
  receive: 'hears',
  'single-wire': 'signal',
  dtr: 'control',
  rts: 'control',
  'not-used': 'nothing',
}

const all = (
  verdict: WireVerdict,
  except: Partial<Record<PinRole, WireVerdict>>,
): Record<PinRole, WireVerdict> => ({
  positive: verdict,
  negative: verdict,
  signal: verdict,
  transmit: verdict,
  receive: verdict,
  boot: verdict,
  reset: verdict,
  'not-used': 'unused-pin-driven',
  ...except,
})

const held = { boot: 'control-held', reset: 'control-held' } as const
const moved = { boot: 'data-on-control', reset: 'data-on-control' } as const
const drives = { positive: 'data-on-positive', negative: 'data-on-negative' } as const

const table: Readonly<Record<Carried, Readonly<Record<PinRole, WireVerdict>>>> = {
  positive: all('supply-on-signal', { positive: 'right', negative: 'supply-reversed' }),
  negative: all('ground-on-signal', { ...held, positive: 'ground-on-positive', negative: 'right' }),
  signal: all('right', { ...drives, ...moved, transmit: 'transmit-to-transmit' }),
  sends: all('right', { ...drives, ...moved, transmit: 'transmit-to-transmit' }),
  hears: all('hears-nothing', { signal: 'right', transmit: 'right', 'not-used': 'hears-nothing' }),
  control: all('control-on-line', { ...drives, boot: 'right', reset: 'right' }),
  nothing: all('right', { 'not-used': 'right' }),
}

/** What to think of one wire from what it brings to the receiver's pin. Common practice, no source. */
export const judgeWire = (carried: Carried, to: PinRole): WireVerdict => table[carried][to]
