import type { ReactNode } from 'react'
import type { Bench } from '../../../shared/model/bench.ts'
import { antennaKindSchema, looksSchema } from '../../../shared/model/looks.ts'
import { isKnown, type Known } from '../../../shared/model/units.ts'
import { ConnectorDrawing } from '../../ui/ConnectorDrawing.tsx'
import { sayConnector } from '../../ui/connector-layout.ts'
import { ReceiverPicture } from './ReceiverPicture.tsx'
import { LengthPicture, RevisionPicture, TipPicture } from './RulerPicture.tsx'
import './pictures.css'

/** A drawing for an answer, and what it shows in a sentence. */
export interface Picture {
  readonly drawing: ReactNode
  readonly words: string
}

/** A quarter of a wave in the middle of 2.4 GHz and at 868 MHz, c / 4f, in millimetres. */
const TIP_MILLIMETRES = { short: 31, long: 86 } as const

const orUndefined = <T,>(value: Known<T>): T | undefined => (isKnown(value) ? value : undefined)

const byFact: Readonly<Record<string, (value: string, bench: Bench) => Picture | undefined>> = {
  'receiver.seen.outputs': value => ({
    drawing: <ReceiverPicture about="outputs" outline={{ outputs: Number(value) }} />,
    words: `A receiver seen from above, with ${value} rows of three pins at one end.`,
  }),
  'receiver.seen.antennaCount': value => ({
    drawing: (
      <ReceiverPicture
        about="antennas"
        outline={{ antennas: { count: Number(value), kind: value === '0' ? 'none' : undefined } }}
      />
    ),
    words:
      value === '0'
        ? 'A receiver that nothing comes out of.'
        : `A receiver with ${value} antennas at one end.`,
  }),
  'receiver.seen.antennaKind': value => {
    const kind = antennaKindSchema.parse(value)
    return {
      drawing: (
        <ReceiverPicture
          isNear
          about="antennas"
          outline={{ antennas: { count: kind === 'none' ? 0 : 1, kind } }}
        />
      ),
      words: kindSentences[kind],
    }
  },
  'receiver.seen.antennaTip': value => {
    const millimetres = value === 'long' ? TIP_MILLIMETRES.long : TIP_MILLIMETRES.short
    return {
      drawing: <TipPicture millimetres={millimetres} />,
      words: `The end of an antenna against a ruler: its bared part is ${millimetres} millimetres long.`,
    }
  },
  'receiver.seen.lengthMillimetres': value => ({
    drawing: <LengthPicture millimetres={Number(value)} />,
    words: `A case against a ruler, ${value} millimetres long.`,
  }),
  'receiver.seen.connectorId': (value, bench) => {
    const connector = bench.catalogue.connectors.find(c => c.id === value)
    return (
      connector && {
        drawing: <ConnectorDrawing connector={connector} size={32} bare />,
        words: sayConnector(connector),
      }
    )
  },
  'receiver.hardwareRevision': value => ({
    drawing: <RevisionPicture revision={value} />,
    words: `The label of a receiver with ${value} marked in its lower corner.`,
  }),
  'receiver.typeId': (value, bench) => {
    const type = bench.catalogue.receiverTypes.find(t => t.id === value)
    return type && typePicture(type.looks ?? looksSchema.parse({}))
  },
}

const kindSentences = {
  wire: 'A single wire of the same thickness to its end.',
  coaxial: 'A thicker cable whose last part is bared to a thin wire.',
  sleeve: 'A thin cable with a thick stiff sleeve on its end.',
  stub: 'A short stiff stub straight on the case.',
  none: 'No antenna outside; it lies on the board under the cover.',
} as const

/** @returns undefined where the type does not state how it looks */
function typePicture(looks: ReturnType<typeof looksSchema.parse>): Picture | undefined {
  const count = orUndefined(looks.antennaCount)
  const kind = orUndefined(looks.antennaKind)
  const outputs = orUndefined(looks.outputs)
  if (count === undefined && outputs === undefined) return undefined
  return {
    drawing: (
      <ReceiverPicture
        outline={{
          antennas: count === undefined ? undefined : { count, kind },
          outputs,
          lengthMillimetres: orUndefined(looks.lengthMillimetres),
          widthMillimetres: orUndefined(looks.widthMillimetres),
        }}
      />
    ),
    words: 'The receiver as its type states it: case, antennas and rows of pins.',
  }
}

/** @returns undefined where a picture would say no more than the words */
export const pictureOf = (fact: string, value: string, bench: Bench): Picture | undefined =>
  byFact[fact]?.(value, bench)
