import { around, type Bench, findType } from '../model/bench.ts'
import type { ReceiverType } from '../model/catalogue.ts'
import { isKnown, regionSchema, regionWords, UNKNOWN } from '../model/units.ts'
import { TYPE_FACT } from './ask-type.ts'
import { observations, typeLabel } from './identify.ts'
import { withUnit } from './rule.ts'

/** An answer that stands, and the way to take it back. */
export interface Answered {
  readonly fact: string
  readonly label: string
  /** The bench with this not known again. */
  readonly takenBack: Bench
}

/** The receiver with what hangs together with it. Its type need not be known. */
type Around = ReturnType<typeof around>

interface Field {
  readonly value: (a: Around) => unknown
  readonly say: (value: string) => string
  readonly forget: (bench: Bench, a: Around) => Bench
}

const region = (value: string) => regionWords[regionSchema.parse(value)]

const receiverField = (
  key: 'hardwareRevision' | 'region' | 'generation' | 'firmware',
  say: Field['say'],
): Field => ({
  value: a => a.receiver?.[key],
  say,
  forget: (bench, a) => withUnit(bench, 'receivers', a.receiver?.id, { [key]: UNKNOWN }),
})
const moduleField = (key: 'firmware' | 'region' | 'generation', say: Field['say']): Field => ({
  value: a => a.module?.[key],
  say,
  forget: (bench, a) => withUnit(bench, 'modules', a.module?.id, { [key]: UNKNOWN }),
})

/** What `questionsFor` asks of a receiver whose type is known; it stands as well once the type is taken back. */
const FIELDS: Readonly<Record<string, Field>> = {
  'receiver.hardwareRevision': receiverField('hardwareRevision', value => `hardware revision ${value}`),
  'receiver.region': receiverField('region', region),
  'receiver.generation': receiverField('generation', value => `generation ${value}`),
  'receiver.firmware': receiverField('firmware', value => `firmware ${value}`),
  'module.firmware': moduleField('firmware', value => `module firmware ${value}`),
  'module.region': moduleField('region', value => `module: ${region(value)}`),
  'module.generation': moduleField('generation', value => `module set for generation ${value}`),
  'radio.systemVersion': {
    value: a => a.radio?.systemVersion,
    say: value => `radio system ${value}`,
    forget: (bench, a) => withUnit(bench, 'radios', a.radio?.id, { systemVersion: UNKNOWN }),
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
  const beside = around(bench, receiverId)
  return facts.flatMap((fact): Answered[] => {
    const field = FIELDS[fact]
    const value = field?.value(beside)
    if (field === undefined || value === undefined || !isKnown(value)) return []
    return [{ fact, label: field.say(String(value)), takenBack: field.forget(bench, beside) }]
  })
}
