import { ADDRESS } from '../../shared/procedure/bus.ts'
import { dice } from '../../shared/sim/dice.ts'
import { Kernel, msToNs } from '../../shared/sim/kernel.ts'
import { Line } from '../../shared/sim/line.ts'
import { Poller, Sensor } from '../../shared/sim/parties.ts'
import type { Measured } from './table.ts'

const ADDRESSES = [ADDRESS.firstSensor, ADDRESS.firstSensor + 1, ADDRESS.firstSensor + 2]

/**
 * Frames of a telemetry bus with three sensors: each poll and each answer is encoded, laid on the line octet by
 * octet, heard by everybody, decoded with its check sequence by whom it is for, and kept in the trace.
 */
export function benchFrames(): Measured[] {
  const seconds = 3
  const started = performance.now()
  let frames = 0
  while (performance.now() - started < seconds * 1000) frames += stretch()
  const perSecond = frames / ((performance.now() - started) / 1000)
  return [
    {
      what: 'bus frames simulated octet by octet, one core',
      value: `${Math.round(perSecond).toLocaleString('en')} a second`,
      goal: 'over 1,000,000',
      reached: perSecond > 1_000_000,
    },
  ]
}

/** Two simulated minutes of polling. */
function stretch(): number {
  const kernel = new Kernel()
  const line = new Line(kernel, {
    id: 'bus',
    label: 'Bus',
    baud: 460_800,
    parity: 'none',
    bitErrorRate: 0,
    dice: dice(1, 'noise'),
  })
  let heard = 0
  const radio = line.attach('radio', 'radio', { hear: () => heard++ })
  for (const address of ADDRESSES)
    new Sensor(kernel, line, { name: 'sensor', address, replyOctets: 8 }).power(true)
  line.forgetAfterOctets = 1 << 20
  new Poller(kernel, line, radio, ADDRESSES, msToNs(1)).start()
  kernel.runTo(msToNs(120_000))
  if (heard < line.bursts / 2 - 2) throw new Error('not every poll was answered')
  return line.bursts
}
