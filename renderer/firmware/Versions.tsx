import { useMemo } from 'react'
import type { ReceiverType } from '../../shared/model/catalogue.ts'
import type { ReceiverUnit } from '../../shared/model/gear.ts'
import { lineOf } from './line.ts'
import { asLineImage, type Listed } from './listed.ts'
import { VersionLine } from './VersionLine.tsx'

interface VersionsProps {
  readonly receiver: ReceiverUnit
  readonly type: ReceiverType
  readonly listed: readonly Listed[]
  readonly chosen: Listed | undefined
  readonly onChoose: (key: string) => void
}

/** The version line of the receiver's type, with the chosen image on it. */
export function Versions({ receiver, type, listed, chosen, onChoose }: VersionsProps) {
  const { firmware, generation } = receiver
  const images = useMemo(
    () => listed.filter(one => one.facts.typeId === type.id).map(asLineImage),
    [listed, type.id],
  )
  const line = useMemo(
    () => lineOf(images, { firmware, generation }, chosen?.key),
    [images, firmware, generation, chosen?.key],
  )
  return (
    <VersionLine
      line={line}
      typeName={`${type.maker} ${type.name}`}
      nameOf={id => listed.find(one => one.key === id)?.name ?? id}
      onChoose={onChoose}
    />
  )
}
