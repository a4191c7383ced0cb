import { type Bench, findType } from '../model/bench.ts'
import type { ReceiverType } from '../model/catalogue.ts'
import { isKnown, regionSchema, regionWords, UNKNOWN } from '../model/units.ts'
import { TYPE_FACT } from './ask-type.ts'
import { observations, typeLabel } from './identify.ts'
import { withUnit } from './rule.ts'
import { type Situation, situationOf } from './situation.ts'

/** An answer that stands, and the way to take it back. */
export interface Answered {
  readonly fact: string
  readonly label: string
  /** The bench with this not known again. */
  readonly takenBack: Bench
}

interface Field {
  readonly value: (s: Situation) => unknown
  readonly say: (value: string) => string
  readonly forget: (s: Situation) => Bench
}

const region = (value: string) => regionWords[regionSchema.parse(value)]

const receiverField = (
  key: 'hardwareRevision' | 'region' | 'generation' | 'firmware',
  say: Field['say'],
): Field => ({
  value: s => s.receiver[key],
  say,
  forget: s => withUnit(s.bench, 'receivers', s.receiver.id, { [key]: UNKNOWN }),
})
const moduleField = (key: 'firmware' | 'region' | 'generation', say: Field['say']): Field => ({
  value: s => s.module?.[key],
  say,
  forget: s => withUnit(s.bench, 'modules', s.module?.id, { [key]: UNKNOWN }),
})

/** What `questionsFor` asks of a receiver whose type is known. */
const FIELDS: Readonly<Record<string, Field>> = {
  'receiver.hardwareRevision': receiverField('hardwareRevision', value => `hardware revision ${value}`),
  'receiver.region': receiverField('region', region),
  'receiver.generation': receiverField('generation', value => `generation ${value}`),
  'receiver.firmware': receiverField('firmware', value => `firmware ${value}`),
  'module.firmware': moduleField('firmware', value => `module firmware ${value}`),
  'module.region': moduleField('region', value => `module: ${region(value)}`),
  'module.generation': moduleField('generation', value => `module set for generation ${value}`),
  'radio.systemVersion': {
    value: s => s.radio?.systemVersion,
    say: value => `radio system ${value}`,
    forget: s => withUnit(s.bench, 'radios', s.radio?.id, { systemVersion: UNKNOWN }),
  },
}

/**
 * What has been answered about a receiver and still stands: all that was seen of it, then its type and the given facts.
 * @param facts those that were asked for; what was known without asking is nobody's answer
 */
export function answeredOf(bench: Bench, receiverId: string, facts: readonly string[]): Answered[] {
  const receiver = bench.receivers.find(r => r.id === receiverId)
  if (receiver === undefined) return []
  const seen = observations(bench, receiver).map(({ fact, label, takenBack }) => ({ fact, label, takenBack }))
  const type = findType(bench.catalogue, 'receiverTypes', receiver.typeId) as ReceiverType | undefined
  const isSaid = type !== undefined && (receiver.seen !== undefined || facts.includes(TYPE_FACT))
  const said: Answered[] = isSaid
    ? [
        {
          fact: TYPE_FACT,
          label: typeLabel(type),
          takenBack: withUnit(bench, 'receivers', receiverId, { typeId: UNKNOWN }),
        },
      ]
    : []
  return [...seen, ...said, ...looked(bench, receiverId, facts)]
}

function looked(bench: Bench, receiverId: string, facts: readonly string[]): Answered[] {
  const s = situationOf(bench, receiverId, 'cable', undefined)
  if (s === undefined) return []
  return facts.flatMap((fact): Answered[] => {
    const field = FIELDS[fact]
    const value = field?.value(s)
    if (field === undefined || value === undefined || !isKnown(value)) return []
    return [{ fact, label: field.say(String(value)), takenBack: field.forget(s) }]
  })
}
