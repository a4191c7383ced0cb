import { describe, expect, it } from 'vitest'
import { afterwardsFor } from '../../shared/fit/afterwards.ts'
import { withUnit } from '../../shared/fit/rule.ts'
import { situationOf } from '../../shared/fit/situation.ts'
import { readImageTables } from '../../shared/image/build.ts'
import { readImageCard } from '../../shared/image/image-card.ts'
import { versionText } from '../../shared/procedure/bus.ts'
import { cautionsFor } from '../../shared/rehearse/cautions.ts'
import { benchImage, readyImage, standInImage } from '../../shared/rehearse/image.ts'
import { rehearse } from '../../shared/rehearse/rehearse.ts'
import { judge, memoryOf, planFor, recordCount, stagingOf, tamperWith } from '../../shared/rehearse/table.ts'
import { whyItEndedSo } from '../../shared/rehearse/why.ts'
import { VirtualCard } from '../../shared/sim/card.ts'
import { startable } from '../../shared/sim/memory.ts'
import { TraceRecorder } from '../../shared/sim/trace.ts'
import { smallBench, smallRequest } from '../support/small-bench.ts'

const bench = smallBench()
const type = bench.catalogue.receiverTypes[0]
const unit = bench.receivers[0]
const made = benchImage(bench, type, 'wren-6-2.4.0')
if (!made.ok) throw new Error(made.problems[0].message)
const image = made.value

describe('what lies on the table before', () => {
  it('is a receiver that runs what the bench says, with tables that it could run by', () => {
    const memory = memoryOf(bench, type, unit)
    expect(versionText(startable(memory)!.version)).toBe('2.1.0')
    const tables = readImageTables(memory.program.octets.subarray(0, startable(memory)!.length))
    expect(tables.ok && tables.value.identity.version).toBe('2.1.0')
  })

  it('runs some old firmware where the bench does not know, and what the bus can say of odd versions', () => {
    const of = (firmware: string) => startable(memoryOf(bench, type, { ...unit, firmware }))!
    expect(versionText(of('unknown').version)).toBe('1.0.0')
    expect(versionText(of('2.1.0-rc.1').version)).toBe('2.1.0')
    expect(versionText(of('70000.1.2').version)).toBe('65535.1.2')
  })

  it('stages the payload and the card that describes it', () => {
    const { files, payloadPath } = stagingOf(image, 'IMAGES')
    expect(files.map(f => f.path)).toEqual([
      'IMAGES/aldwick-wren-6-2.4.0.image',
      'IMAGES/aldwick-wren-6-2.4.0.card.json',
    ])
    expect(files[0].octets).toBe(image.payload)
    expect(payloadPath).toBe(files[0].path)
    const card = readImageCard(new TextDecoder().decode(files[1].octets), 'card')
    expect(card.ok && card.value).toEqual(image.card)
  })

  it('plans two attempts, with time-outs for this line and flash', () => {
    const plan = planFor(bench, type, 'cable', stagingOf(image, 'F'))
    expect(plan).toMatchObject({ route: 'cable', baud: 115_200, attempts: 2 })
    expect(plan.timing.eraseMs).toBeGreaterThan(plan.timing.writeMs)
  })
})

describe('what faults do to the card', () => {
  function staged(tamper: Parameters<typeof tamperWith>[0]) {
    const staging = stagingOf(image, 'F')
    const card = new VirtualCard(bench.cards[0], new TraceRecorder())
    const act = tamperWith(tamper, bench, type, image, staging)
    for (const file of staging.files) {
      card.ask({ op: 'create', path: file.path, bytes: file.octets.length })
      card.ask({ op: 'write', path: file.path, offset: 0, octets: file.octets })
      act(card)
    }
    const read = readImageCard(new TextDecoder().decode(card.files.get(staging.cardPath)!.octets), 'card')
    if (!read.ok) throw new Error(read.problems[0].message)
    return { payload: card.files.get(staging.payloadPath)!.octets, card: read.value }
  }

  it('nothing, one octet, or another image with its own label or a false one', () => {
    expect(Buffer.from(staged({ kind: 'as-chosen' }).payload).equals(Buffer.from(image.payload))).toBe(true)
    const damaged = staged({ kind: 'damaged', atByte: 77 })
    expect(damaged.payload.filter((o, i) => o !== image.payload[i])).toHaveLength(1)
    expect(damaged.card).toEqual(image.card)
    const labelled = staged({ kind: 'other-type', typeId: 'tamsin-heron-8', labelled: true })
    expect(labelled.card.typeId).toBe('tamsin-heron-8')
    const mislabelled = staged({ kind: 'other-type', typeId: 'tamsin-heron-8', labelled: false })
    expect(mislabelled.card).toMatchObject({ typeId: 'aldwick-wren-6', version: '2.4.0' })
    expect(mislabelled.card.crc32).not.toBe(image.card.crc32)
  })
})

describe('what became of the receiver', () => {
  it('is judged by its memory alone', () => {
    const memory = memoryOf(bench, type, unit)
    const before = recordCount(memory)
    expect(judge(memory, before)).toBe('unchanged')
    expect(judge(memory, before - 1)).toBe('updated')
    memory.program.octets[0] ^= 1
    expect(judge(memory, before)).toBe('needs-cable')
    memory.boot.octets[0] ^= 1
    expect(judge(memory, before)).toBe('needs-boot-rom')
    memory.dead = 'reversed'
    expect(judge(memory, before)).toBe('destroyed')
  })
})

describe('an image made ready', () => {
  it('that is not on the bench is named with those that are', () => {
    const none = benchImage(bench, type, 'wren-9')
    expect(!none.ok && none.problems[0].expected).toContain('wren-6-2.4.0')
  })

  it('of the library has to be read first', () => {
    const choice = { kind: 'library', id: '0'.repeat(64) } as const
    const read = readyImage(bench, type, choice, false)
    expect(!read.ok && read.problems[0].code).toBe('image.library')
  })

  it('can be built to stand in for one that the bench does not have', () => {
    for (const own of bench.catalogue.receiverTypes) {
      const standIn = standInImage(own, 2)
      expect(standIn.ok && standIn.value.facts).toMatchObject({
        typeId: own.id,
        generation: 2,
        intact: true,
        label: 'agrees',
      })
    }
  })
})

describe('words about it', () => {
  const reportOf = (change: Parameters<typeof smallRequest>[0]) => {
    const done = rehearse(smallRequest(change))
    if (!done.ok) throw new Error(done.problems[0].message)
    return done.value
  }

  it('say why it ended so, with what happened first', () => {
    expect(reportOf({}).report.why).toContain('answered the first time')
    const cut = reportOf({ faults: [{ name: 'power-cut', value: '1' }] })
    expect(cut.report.why).toMatch(/^The supply of the receiver was cut\..*erased already/)
    const end = {
      result: undefined,
      radioDied: true,
      trace: cut.trace,
      endNs: 0,
      effects: 0,
      flashOperations: 0,
    }
    expect(whyItEndedSo('destroyed', end)).toContain('No procedure brings it back')
    expect(whyItEndedSo('needs-boot-rom', end)).toContain('boot loader itself')
  })

  it('say what to look out for, by model and route', () => {
    const cautions = (id: string, route: 'cable' | 'wireless') =>
      cautionsFor(situationOf(bench, id, route, undefined)!).join(' ')
    expect(cautions('wren-trainer', 'cable')).toMatch(/Propeller or rotor off.*One supply only/)
    expect(cautions('wren-glider', 'wireless')).not.toMatch(/Propeller|One supply only/)
    expect(cautions('finch-boat', 'cable')).toContain('4.0 and 6.0 V')
    const after = afterwardsFor(situationOf(bench, 'wren-trainer', 'cable', image.facts)!)
    expect(after.at(-1)).toContain('No flight')
  })

  it('stay honest where the radio dies on the way', () => {
    const weak = withUnit(bench, 'radios', 'tarn', { batteryVolts: 6.21 })
    const dead = reportOf({ bench: weak })
    expect(dead.report.outcome).toBe('unchanged')
    expect(dead.report.recovery?.rehearsed.outcome).toBe('updated')
  })
})
