import { BUS_DIALECT, writeByBus } from '../dialect/bus-write.ts'
import { writeByDialect } from '../dialect/interpret.ts'
import type { DialectPlan, WriteEnd } from '../dialect/plan.ts'
import type { Dialect } from '../dialect/schema.ts'
import { sha256Hex } from '../image/digest.ts'
import type { ReceiverType } from '../model/catalogue.ts'
import type { ReceiverUnit } from '../model/gear.ts'
import { failed, type Result, succeeded } from '../model/problem.ts'
import { isKnown } from '../model/units.ts'
import type { Procedure } from '../procedure/effects.ts'
import { timingFor } from '../procedure/timing.ts'
import { type ReadyImage, readyImage } from '../rehearse/image.ts'
import { subjectOf } from '../rehearse/rehearse.ts'
import { addressMapOf, placeOf } from '../sim/address-map.ts'
import { blankMemory } from '../sim/memory.ts'
import { setupOf } from '../wiring/setup.ts'
import { type Chosen, chosenData } from './chosen.ts'
import { type WritePlan, writePlanKey } from './plan.ts'

/** A write that is ready to be carried out, by whatever dialect: on a port, or in the simulator. */
export interface ReadyWrite {
  /** Null for a device that is on no bench. */
  readonly receiver: { readonly id: string; readonly nickname: string; readonly typeId: string } | null
  readonly benchName: string | null
  readonly image: {
    readonly name: string
    readonly version: string | null
    readonly octets: Uint8Array
    readonly sha256: string
    readonly address: number
  }
  readonly chosen: Chosen
  readonly line: {
    readonly baud: number
    readonly parity: 'none' | 'even' | 'odd'
    readonly stopBits: 1 | 2
  }
  /** The line gives back what is sent. */
  readonly echo: boolean
  /** What is there can be read, and is, before it is erased. */
  readonly canBackUp: boolean
  /**
   * The procedure from its beginning.
   * @param backupPath where `store` effects keep what was read
   * @param inSeries blocks may go as a series: for ports, where time runs while something is computed
   */
  readonly procedure: (backupPath?: string, inSeries?: boolean) => Procedure<WriteEnd>
}

/** A ready write of a plan, with what the checks look at. */
export interface PlannedWrite {
  readonly plan: WritePlan
  readonly key: string
  readonly unit: ReceiverUnit
  readonly type: ReceiverType
  readonly image: ReadyImage
  readonly ready: ReadyWrite
}

/** The second write is part of the plan: that a first one fails is common practice. */
const BUS_ATTEMPTS = 2

/**
 * @param plan with an image that is no entry of the library any more
 * @returns problems that name the receiver, image or dialect that does not do
 */
export function planWrite(plan: WritePlan, chosen: Chosen): Result<PlannedWrite> {
  const subject = subjectOf(plan.bench, plan.receiverId)
  if (!subject.ok) return subject
  const { unit, type } = subject.value
  const image = readyImage(plan.bench, type, plan.image, plan.dropOutside)
  if (!image.ok) return image
  const unusable = Object.keys(plan.expect).find(name => !knowsField(chosen, name))
  if (unusable !== undefined)
    return failed({
      code: 'write.expect',
      field: `expect.${unusable}`,
      message: `${chosen.title} does not tell "${unusable}" of a receiver.`,
    })
  const { value } = image
  const ready: ReadyWrite = {
    receiver: { id: unit.id, nickname: unit.nickname, typeId: type.id },
    benchName: plan.bench.name,
    image: {
      name: value.name,
      version: isKnown(value.card.version) ? value.card.version : null,
      octets: value.payload,
      sha256: sha256Hex(value.payload),
      address: value.card.programAddress,
    },
    chosen,
    ...(chosen.kind === 'bus' ? byBus(plan, type, value) : byData(plan, type, value, chosen.dialect)),
  }
  return succeeded({ plan, key: writePlanKey(plan, chosen.text), unit, type, image: value, ready })
}

const knowsField = (chosen: Chosen, name: string): boolean =>
  chosen.kind === 'data' && (chosen.dialect.identify?.fields.some(f => f.name === name) ?? false)

type How = Pick<ReadyWrite, 'line' | 'echo' | 'canBackUp' | 'procedure'>

function byBus(plan: WritePlan, type: ReceiverType, image: ReadyImage): How {
  const baud = plan.baud ?? type.bus.baud
  const timing = timingFor({
    ...{ route: 'cable', baud, flash: type.flash, latencyMs: 0 },
    turnaroundMs: type.bus.turnaroundMicros / 1000,
    settleMs: type.boot.settleMs,
    listenMs: type.boot.listenMs,
  })
  const { payload, card } = image
  const types = plan.bench.catalogue.receiverTypes
  return {
    line: { baud, parity: 'none', stopBits: 1 },
    echo: plan.echo ?? sharesOneWire(plan),
    canBackUp: false,
    procedure: () => writeByBus({ payload, card, timing, baud, attempts: BUS_ATTEMPTS, types }),
  }
}

/** What the adapter sends and what it hears meet at one pin of the receiver, or in the adapter. */
function sharesOneWire({ bench, receiverId, adapterId, cableId, feed, supplyId }: WritePlan): boolean {
  const setup = setupOf({
    ...{ bench, receiverId, adapterId, cableId, feed, dialect: BUS_DIALECT },
    ...(supplyId ? { supplyId } : {}),
  })
  if (!setup.ok || setup.value === undefined) return true
  const { adapter, joins } = setup.value
  const at = (role: RegExp) =>
    joins.filter(j => j.verdict === 'right' && role.test(adapter.pins[j.from - 1]?.role ?? '')).map(j => j.to)
  const hears = at(/^(receive|single-wire)$/)
  return at(/^(transmit|single-wire)$/).some(pin => hears.includes(pin))
}

function byData(plan: WritePlan, type: ReceiverType, image: ReadyImage, dialect: Dialect): How {
  const { flash } = type
  return howOfDialect(
    dialect,
    {
      baud: plan.baud ?? dialect.line.baud[0],
      image: { octets: image.payload, address: image.card.programAddress, fileName: image.name },
      pages: pagesOf(dialect, type),
      wordOctets: flash.wordBytes,
      expectBefore: plan.expect,
      expectAfter: expectedAfter(dialect, plan.expect, image),
    },
    plan.echo,
    dialect.read ? { address: flash.programAddress, octets: flash.programBytes } : undefined,
  )
}

/** How a dialect that is data is spoken. */
export function howOfDialect(
  dialect: Dialect,
  plan: Omit<DialectPlan, 'dialect' | 'backup'>,
  echo: boolean | undefined,
  backup: { readonly address: number; readonly octets: number } | undefined,
): How {
  return {
    line: { baud: plan.baud, parity: dialect.line.parity, stopBits: dialect.line.stopBits },
    echo: echo ?? dialect.line.duplex === 'half-echo',
    canBackUp: backup !== undefined,
    procedure: (path, inSeries = false) =>
      writeByDialect({
        ...plan,
        dialect,
        inSeries,
        ...(backup ? { backup: { ...backup, ...(path === undefined ? {} : { path }) } } : {}),
      }),
  }
}

/** All of program flash, so that nothing of the old image is left behind the new one; pages as the chip counts them. */
function pagesOf({ erase }: Dialect, type: ReceiverType): number[] {
  if (erase?.per !== 'pages') return []
  const memory = blankMemory(type)
  const first = placeOf(addressMapOf(type, memory), memory.program)?.firstPage ?? 0
  return Array.from(memory.program.wear, (_, i) => first + i)
}

/** Only a version that is known can show that it is the new image which runs. */
function expectedAfter(dialect: Dialect, expect: WritePlan['expect'], { card }: ReadyImage) {
  const field = dialect.identify?.fields.find(f => f.role === 'version')
  if (dialect.identify?.whenRunning !== true || field === undefined || !isKnown(card.version)) return {}
  const types = dialect.identify.fields.filter(f => f.role === 'type' && expect[f.name] !== undefined)
  return {
    ...Object.fromEntries(types.map(f => [f.name, expect[f.name]])),
    [field.name]: card.version,
  }
}

/** A device that is on no bench: the person answers for what it is and how it is wired. */
export interface DirectPlan {
  readonly dialect: Dialect
  readonly baud: number | undefined
  readonly image: {
    readonly octets: Uint8Array
    readonly name: string
    readonly address: number
    readonly version: string | null
  }
  readonly pages: readonly number[]
  readonly echo: boolean | undefined
  readonly backup: { readonly address: number; readonly octets: number } | undefined
  readonly expect: Readonly<Record<string, string>>
}

export function directWrite(direct: DirectPlan): ReadyWrite {
  const { dialect, baud, image, pages, echo, backup, expect } = direct
  const version = dialect.identify?.fields.find(f => f.role === 'version')
  const proves = dialect.identify?.whenRunning === true && version !== undefined && image.version !== null
  return {
    receiver: null,
    benchName: null,
    image: { ...image, sha256: sha256Hex(image.octets) },
    chosen: chosenData(dialect),
    ...howOfDialect(
      dialect,
      {
        baud: baud ?? dialect.line.baud[0],
        image: { octets: image.octets, address: image.address, fileName: image.name },
        pages,
        expectBefore: expect,
        expectAfter: proves ? { [version.name]: image.version ?? '' } : {},
      },
      echo,
      dialect.read ? backup : undefined,
    ),
  }
}
