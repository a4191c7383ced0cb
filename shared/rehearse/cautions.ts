import type { Situation } from '../fit/situation.ts'

export type CautionId = 'drive' | 'supply' | 'one-supply' | 'keep-still' | 'local'
/** Something to look out for when this is carried out on real hardware. */
export interface Caution {
  readonly id: CautionId
  readonly text: string
}

/** What to look out for when this is carried out on real hardware. Common practice, no source; local rules go first. */
export function cautionsOf(s: Situation): Caution[] {
  const { leastVolts, mostVolts } = s.receiverType.supply
  return [
    {
      id: 'drive',
      text:
        s.model?.propellerOrRotor === false
          ? 'Disconnect the drive: outputs may move when the receiver restarts.'
          : 'Propeller or rotor off, drive disconnected: outputs may move when the receiver restarts.',
    },
    {
      id: 'supply',
      text: `Supply between ${leastVolts.toFixed(1)} and ${mostVolts.toFixed(1)} V, the right way round. A reversed plug destroys the receiver at once.`,
    },
    ...(s.route === 'cable'
      ? [
          {
            id: 'one-supply' as const,
            text: 'One supply only: a receiver that is fed through the update cable gets no pack.',
          },
        ]
      : []),
    {
      id: 'keep-still',
      text: `Do not move the ${s.route === 'cable' ? 'cable' : 'receiver'}, the card or the radio while it writes.`,
    },
    {
      id: 'local',
      text: 'The label on the part, local rules and licensed practice go before anything that stands here.',
    },
  ]
}

/** The same as sentences. */
export const cautionsFor = (s: Situation): string[] => cautionsOf(s).map(({ text }) => text)
