import type { Situation } from '../fit/situation.ts'

/** What to look out for when this is carried out on real hardware. Common practice, no source; local rules go first. */
export function cautionsFor(s: Situation): string[] {
  const { leastVolts, mostVolts } = s.receiverType.supply
  return [
    s.model?.propellerOrRotor === false
      ? 'Disconnect the drive: outputs may move when the receiver restarts.'
      : 'Propeller or rotor off, drive disconnected: outputs may move when the receiver restarts.',
    `Supply between ${leastVolts.toFixed(1)} and ${mostVolts.toFixed(1)} V, the right way round. A reversed plug destroys the receiver at once.`,
    ...(s.route === 'cable'
      ? ['One supply only: a receiver that is fed through the update cable gets no pack.']
      : []),
    'Do not move the cable, the card or the radio while it writes.',
    'The label on the part, local rules and licensed practice go before anything that stands here.',
  ]
}
