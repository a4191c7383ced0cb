import type { WritePlan } from '../../shared/bench-run/plan.ts'
import { type Bench, checkBench } from '../../shared/model/bench.ts'
import { smallBench } from './small-bench.ts'
import { writePlan } from './write-plan.ts'

/** The small bench with a Wren that has its serial pins on a connector of four, and a cable for that. */
export function serialBench(): Bench {
  const small = smallBench()
  const checked = checkBench({
    ...small,
    catalogue: {
      ...small.catalogue,
      connectors: [
        ...small.catalogue.connectors,
        {
          id: 'four-pin',
          name: 'Four-pin header',
          keyed: true,
          pins: [
            { name: 'GND', role: 'negative' },
            { name: 'V', role: 'positive' },
            { name: 'RX', role: 'receive' },
            { name: 'TX', role: 'transmit' },
          ],
        },
      ],
      receiverTypes: small.catalogue.receiverTypes.map(t =>
        t.id === 'aldwick-wren-6' ? { ...t, connectorId: 'four-pin' } : t,
      ),
    },
    cables: [
      ...small.cables,
      {
        ...{ id: 'serial-cable', nickname: 'Serial cable', lengthMetres: 0.3, awg: 26, wires: [] },
        plugKeyed: true,
        pinWires: [1, 2, 3, 4].map(pin => ({ from: pin, to: pin, through: 'wire' as const })),
      },
    ],
  })
  if (!checked.ok) throw new Error(checked.problems[0].message)
  return checked.value
}

/** An image whose octets 16 to 18 are its version, where one of the demo's loaders looks for it. */
export const versionedImage = (bytes = 5000): WritePlan['image'] => {
  const octets = Uint8Array.from({ length: bytes }, (_, i) => (i * 31 + (i >> 8) * 7) & 0xff)
  octets.set([2, 4, 0], 16)
  return {
    ...{ kind: 'file', fileName: 'wren.bin', octets },
    declared: { typeId: 'aldwick-wren-6', version: '2.4.0' },
  }
}

/** A plan by a dialect of the serial pins. */
export const serialPlan = (dialect: string, change: Partial<WritePlan> = {}): WritePlan =>
  writePlan({ bench: serialBench(), dialect, cableId: 'serial-cable', image: versionedImage(), ...change })
