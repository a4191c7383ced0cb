import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { type Answers, doNotKnow, QUESTION_IDS } from '../../../renderer/new-bench/answers.ts'
import { sayAssumption } from '../../../renderer/new-bench/assumed.ts'
import { type NewBenchResult, newBench } from '../../../renderer/new-bench/new-bench.ts'
import { idFrom } from '../../../renderer/new-bench/receiver-type.ts'
import { checkBench, readBench, writeBench } from '../../../shared/model/bench.ts'
import { rehearse } from '../../../shared/rehearse/rehearse.ts'
import type { ImageChoice } from '../../../shared/rehearse/report.ts'
import { hexAnswer, imageAnswer, octetsOf } from './sample-image.ts'

const nothingKnown = QUESTION_IDS.reduce<Answers>(doNotKnow, {})

const allKnown: Answers = {
  radioName: 'Tarn 16',
  storage: 'card',
  modulePlace: 'external',
  moduleBand: '868MHz',
  moduleFirmware: '4.1',
  receiverMaker: 'Tamsin',
  receiverName: 'Curlew 12',
  receiverBand: '868MHz',
  generation: 3,
  region: 'lbt',
  receiverFirmware: 'v2.0.1',
  model: 'no-propeller',
  route: 'cable',
  feed: 'own-supply',
  feedVolts: '6,6',
  labelLeastVolts: '4.8',
  labelMostVolts: '8.4',
}

function rehearsed(answers: Answers, made: NewBenchResult, route = made.route, dropOutside = false) {
  const { image: file } = answers
  const image: ImageChoice = file
    ? { kind: 'file', fileName: file.fileName, octets: file.octets }
    : { kind: 'bench', imageId: made.bench.images[0].id }
  const { bench, receiverId } = made
  const run = rehearse({ bench, receiverId, image, route, seed: 1, faults: [], dropOutside })
  if (!run.ok) throw new Error(run.problems.map(p => p.message).join())
  return run.value
}

const anyAnswer = <T>(arbitrary: fc.Arbitrary<T>) =>
  fc.option(fc.option(arbitrary, { nil: null }), { nil: undefined })
const anyText = anyAnswer(
  fc.oneof(
    fc.string({ unit: 'binary', maxLength: 200 }),
    fc.constantFrom('2.3.1', 'v7', '5', '99,9', '  ', '0.5'),
  ),
)
const images = [
  hexAnswer({ address: 0x0800_4000, octets: octetsOf(5000) }),
  hexAnswer({ address: 0xffff_fc00, octets: octetsOf(1024) }),
  imageAnswer('own.bin', octetsOf(70_000)),
]
const anyAnswers: fc.Arbitrary<Answers> = fc.record({
  radioName: anyText,
  storage: anyAnswer(fc.constantFrom('card', 'inside')),
  modulePlace: anyAnswer(fc.constantFrom('internal', 'external')),
  moduleBand: anyAnswer(fc.constantFrom('2.4GHz', '868MHz', '915MHz')),
  moduleFirmware: anyText,
  receiverMaker: anyText,
  receiverName: anyText,
  receiverBand: anyAnswer(fc.constantFrom('2.4GHz', '868MHz', '915MHz')),
  generation: anyAnswer(fc.integer({ min: 1, max: 9 })),
  region: anyAnswer(fc.constantFrom('lbt', 'hopping')),
  receiverFirmware: anyText,
  model: anyAnswer(fc.constantFrom('propeller', 'no-propeller', 'none')),
  route: anyAnswer(fc.constantFrom('cable', 'wireless')),
  feed: anyAnswer(fc.constantFrom('through-cable', 'own-supply')),
  feedVolts: anyText,
  labelLeastVolts: anyText,
  labelMostVolts: anyText,
  image: anyAnswer(fc.constantFrom(...images)),
})

describe('a new bench', () => {
  it('is one that a bench file may hold, whatever was answered', () => {
    fc.assert(
      fc.property(anyAnswers, answers => {
        const { bench, receiverId } = newBench(answers)
        expect(checkBench(structuredClone(bench))).toMatchObject({ ok: true })
        expect(readBench(writeBench(bench), 'new')).toMatchObject({ ok: true, value: bench })
        expect(bench.receivers.map(r => r.id)).toContain(receiverId)
        const { leastVolts, mostVolts, brownOutVolts, restartVolts } = bench.catalogue.receiverTypes[0].supply
        expect(brownOutVolts).toBeLessThan(restartVolts)
        expect(restartVolts).toBeLessThan(leastVolts)
        expect(leastVolts).toBeLessThanOrEqual(mostVolts)
      }),
      { numRuns: 500 },
    )
  })

  it.each<[string, Answers]>([
    ['nothing known, practice image', nothingKnown],
    ['nothing answered at all', {}],
    [
      'nothing known but a HEX file',
      { ...nothingKnown, image: hexAnswer({ address: 0x0800_4000, octets: octetsOf(20_000) }) },
    ],
    ['nothing known but a raw file', { ...nothingKnown, image: imageAnswer('own.bin', octetsOf(100_000)) }],
    ['everything known', { ...allKnown, image: hexAnswer({ address: 0, octets: octetsOf(3000) }) }],
    ['everything known, practice image', { ...allKnown, image: null }],
    [
      'no card, fed through the cable, on the table',
      { ...allKnown, storage: 'inside', feed: 'through-cable', model: 'none' },
    ],
    ['a receiver for little voltage', { ...allKnown, feed: null, labelLeastVolts: '3', labelMostVolts: '5' }],
    ['a version that is a date', { ...allKnown, receiverFirmware: '220406' }],
    ['an image at the end of memory', { ...nothingKnown, image: images[1] }],
  ])('is updated by cable, byte for byte: %s', (_, answers) => {
    const { report } = rehearsed(answers, newBench(answers), 'cable')
    expect(report.outcome, report.why).toBe('updated')
    expect(report.flashEqualsImage).toBe(true)
    expect(report.faults).toEqual([])
    expect(report.retries).toBe(0)
  })

  it.each<[string, Answers]>([
    ['nothing known', nothingKnown],
    ['everything known', { ...allKnown, feed: 'through-cable' }],
  ])('is updated by air too: %s', (_, answers) => {
    const { report } = rehearsed(answers, newBench(answers), 'wireless')
    expect(report.outcome, report.why).toBe('updated')
  })

  it('asks about pieces far outside instead of guessing', () => {
    const image = hexAnswer(
      { address: 0x0800_0000, octets: octetsOf(9000) },
      { address: 0x1000_1000, octets: octetsOf(8) },
    )
    const answers = { ...nothingKnown, image }
    const made = newBench(answers)
    expect(() => rehearsed(answers, made)).toThrow('outside the receiver’s program flash')
    expect(rehearsed(answers, made, 'cable', true).report).toMatchObject({
      outcome: 'updated',
      image: { droppedOutsideBytes: 8 },
    })
    expect(made.assumed.map(a => a.what)).toContain('Pieces far from the rest of the image')
  })

  it('keeps unknown what nobody knows', () => {
    const { bench, open } = newBench(nothingKnown)
    const [receiver, module, radio] = [bench.receivers[0], bench.modules[0], bench.radios[0]]
    const [type, moduleType] = [bench.catalogue.receiverTypes[0], bench.catalogue.moduleTypes[0]]
    expect([receiver.firmware, receiver.region, receiver.generation, receiver.hardwareRevision]).toEqual(
      Array(4).fill('unknown'),
    )
    expect([module.firmware, module.region, module.generation, radio.systemVersion]).toEqual(
      Array(4).fill('unknown'),
    )
    expect([type.nativeGeneration, type.wirelessUpdate, type.bus.inverted, type.boot.protected]).toEqual(
      Array(4).fill('unknown'),
    )
    expect([moduleType.generations, moduleType.wirelessUpdate]).toEqual(Array(2).fill('unknown'))
    expect(open.map(o => o.what)).toEqual(expect.arrayContaining(['Firmware', 'Region', 'Link generation']))
    const holds = rehearsed(nothingKnown, newBench(nothingKnown), 'wireless').report.findings
    expect(holds.find(f => f.rule === 'module-generation')?.holds).toBe('unknown')
  })

  it('takes over what is known', () => {
    const { bench } = newBench(allKnown)
    expect(bench.name).toBe('Tarn 16 and Tamsin Curlew 12')
    expect(bench.catalogue.receiverTypes[0]).toMatchObject({
      id: 'tamsin-curlew-12',
      maker: 'Tamsin',
      name: 'Curlew 12',
      bands: ['868MHz'],
      nativeGeneration: 3,
      supply: { leastVolts: 4.8, mostVolts: 8.4 },
    })
    expect(bench.receivers[0]).toMatchObject({ firmware: '2.0.1', region: 'lbt', generation: 3 })
    expect(bench.modules[0]).toMatchObject({ firmware: '4.1.0', band: '868MHz' })
    expect(bench.supplies[0].volts).toBe(6.6)
    expect(bench.models[0].propellerOrRotor).toBe(false)
    expect(bench.wiring.cableFeed).toBe('own-supply')
  })

  it('says every assumption in the note of what it is about, and none about what is known', () => {
    const { bench, assumed } = newBench(nothingKnown)
    const notes = {
      radio: bench.catalogue.radioTypes[0].note,
      module: bench.catalogue.moduleTypes[0].note,
      receiver: `${bench.catalogue.receiverTypes[0].note} Image`,
      table: bench.note,
    }
    for (const a of assumed) expect(notes[a.part]).toContain(a.what === 'Image' ? 'Image' : sayAssumption(a))
    const known = newBench({ ...allKnown, image: images[0] }).assumed.map(a => a.what)
    for (const what of [
      'Band',
      'Card',
      'Place',
      'Supply',
      'Fed',
      'Its supply',
      'In a model',
      'Image',
      'Route',
    ])
      expect(known, what).not.toContain(what)
  })

  it('marks assumed supply limits with the caution to read the label', () => {
    const supply = newBench(nothingKnown).assumed.find(a => a.what === 'Supply')
    expect(supply).toMatchObject({ value: '4 to 10 V', from: expect.stringContaining('read the label') })
  })

  it('takes the case that calls for most care where nobody knows about a propeller', () => {
    expect(newBench(nothingKnown).bench.models[0].propellerOrRotor).toBe(true)
    expect(rehearsed({}, newBench({})).report.cautions.join()).toContain('Propeller or rotor off')
  })

  it.each([
    ['Tamsin Curlew 12', 'tamsin-curlew-12'],
    ['Größe É/7', 'gro-e-e-7'],
    ['鳥', 'fallback'],
    ['', 'fallback'],
  ])('makes an id of %j', (name, id) => expect(idFrom(name, 'fallback')).toBe(id))
})
