import { describe, expect, it } from 'vitest'
import {
  add,
  change,
  changeBench,
  copyOf,
  freeId,
  referencesTo,
  remove,
} from '../../../renderer/fleet/edit.ts'
import { type Entry, findEntry, KINDS, kinds, listOf, nameOf } from '../../../renderer/fleet/kinds.ts'
import { setAt } from '../../../renderer/fleet/path.ts'
import { demoBench } from '../../../shared/demo/bench.ts'
import { checkBench } from '../../../shared/model/bench.ts'

const bench = demoBench()
const entry = (kind: (typeof KINDS)[number], id: string): Entry => {
  const found = findEntry(bench, kind, id)
  if (found === undefined) throw new Error(`the demo has no ${kind} ${id}`)
  return found
}
const trainer = entry('receivers', 'wren-trainer')

describe('changing', () => {
  it('takes a good value, names the step in plain words, and leaves the rest alone', () => {
    const done = change(bench, 'receivers', 'wren-trainer', { ...trainer, firmware: '2.4.0' })
    expect(done).toMatchObject({ ok: true, label: 'Change Wren in the club trainer', id: 'wren-trainer' })
    if (!done.ok) return
    expect(findEntry(done.bench, 'receivers', 'wren-trainer')).toEqual({ ...trainer, firmware: '2.4.0' })
    expect({ ...done.bench, receivers: [] }).toEqual({ ...bench, receivers: [] })
    expect(bench.receivers[0].firmware).toBe('2.1.0')
  })

  it.each([
    ['firmware', '2.4', 'This has to be a version such as 2.3.1, or “not known”.'],
    ['firmware', '', 'This has to be filled in, or “not known”.'],
    ['nickname', '   ', 'This has to be filled in.'],
    ['nickname', '', 'This has to be filled in.'],
    ['nickname', 'x'.repeat(81), 'At most 80 characters fit here.'],
    ['id', 'No Good', 'This has to be an id of lower case letters, digits, dots and hyphens.'],
    ['generation', undefined, 'Choose one, or “not known”.'],
    ['typeId', 'nothing', '"nothing" is not in the list receiverTypes.'],
    ['boundTo', 'nothing', '"nothing" is not in the list modules.'],
  ])('says at %s what is wrong with %j', (field, value, message) => {
    const done = change(bench, 'receivers', 'wren-trainer', { ...trainer, [field]: value })
    expect(done.ok).toBe(false)
    if (done.ok) return
    expect(done.errors).toEqual({ [field]: message })
  })

  it.each([
    ['supplies', 'life-2', 'volts', 61, 'This has to be at most 60 V.'],
    ['supplies', 'life-2', 'volts', 'six', '“six” is not a number.'],
    ['cables', 'update-cable', 'awg', 9, 'This has to be at least 10 AWG.'],
    ['cables', 'update-cable', 'awg', 26.5, 'This has to be a whole number.'],
    ['cables', 'update-cable', 'wires.1.to', undefined, 'Choose one.'],
    ['models', 'trainer', 'receiverIds', [], 'Choose at least one.'],
    ['sensors', 'vario', 'busAddress', 0x40, 'This has to be at most 0x3F.'],
    [
      'receiverTypes',
      'aldwick-wren-6',
      'flash.programBytes',
      1000 * 1024 + 1,
      'Program flash must be a whole number of pages.',
    ],
    [
      'receiverTypes',
      'aldwick-wren-6',
      'flash.programBytes',
      512,
      expect.stringMatching(/^This has to be at least \d KiB\.$/),
    ],
    ['receiverTypes', 'aldwick-wren-6', 'flash.eraseMs.least', 0, 'This has to be more than 0 ms.'],
    ['receiverTypes', 'aldwick-wren-6', 'source.date', 'today', 'This has to be a date such as 2026-11-25.'],
    ['radioTypes', 'tamsin-quay', 'updatePort.supplyVolts', undefined, 'This has to be filled in.'],
    ['connectors', 'three-pin', 'pins', [], 'Add at least one.'],
    ['moduleTypes', 'tamsin-skein-reach', 'generations', [], 'Choose at least one, or “not known”.'],
    [
      'pairings',
      'skein-1-all',
      'moduleFirmware',
      'four',
      'This has to be a range of versions such as ">=4.0.0 <7.0.0".',
    ],
  ] as const)('says in words what is wrong with %s %s.%s', (kind, id, path, value, message) => {
    const done = change(bench, kind, id, setAt(entry(kind, id), path, value))
    expect(done.ok ? {} : done.errors).toMatchObject({ [path]: message })
  })

  it('follows a changed id wherever the thing is named', () => {
    const done = change(bench, 'modules', 'inner-tarn', {
      ...entry('modules', 'inner-tarn'),
      id: 'tarn-inside',
    })
    expect(done.ok).toBe(true)
    if (!done.ok) return
    expect(JSON.stringify(done.bench)).not.toContain('"inner-tarn"')
    expect(done.bench.radios[0].moduleIds).toEqual(['tarn-inside', 'reach-tarn'])
    expect(checkBench(done.bench).ok).toBe(true)
    expect(referencesTo(done.bench, 'modules', 'tarn-inside')).toHaveLength(
      referencesTo(bench, 'modules', 'inner-tarn').length,
    )
  })

  it('follows an id in wiring and in types too', () => {
    const cable = change(bench, 'cables', 'update-cable', { ...entry('cables', 'update-cable'), id: 'c1' })
    expect(cable.ok && cable.bench.wiring.cableId).toBe('c1')
    const plug = change(bench, 'connectors', 'three-pin', { ...entry('connectors', 'three-pin'), id: 'plug' })
    expect(plug.ok && plug.bench.catalogue.radioTypes.map(t => t.updatePort)).toEqual(
      Array(3).fill(expect.objectContaining({ connectorId: 'plug' })),
    )
  })

  it('refuses an id that another of the kind has', () => {
    const done = change(bench, 'receivers', 'wren-trainer', { ...trainer, id: 'wren-glider' })
    expect(done).toEqual({ ok: false, errors: { id: 'Another receiver has this id already.' } })
  })

  it("changes the bench's own name and wiring, and says at the field what is wrong", () => {
    const { name, note, wiring } = bench
    const done = changeBench(bench, { name: 'Marsh Lane', note, wiring: { ...wiring, distanceMetres: 3 } })
    expect(done.ok && done.bench.wiring.distanceMetres).toBe(3)
    expect(done.ok && done.label).toBe('Change name and wiring of the bench')
    expect(changeBench(bench, { name, note, wiring: { ...wiring, cableId: 'none' } })).toMatchObject({
      errors: { 'wiring.cableId': '"none" is not in the list cables.' },
    })
    expect(changeBench(bench, { name, note, wiring: { ...wiring, distanceMetres: 0 } })).toMatchObject({
      errors: { 'wiring.distanceMetres': 'This has to be at least 0.01 m.' },
    })
  })
})

describe('copying and adding', () => {
  it.each(KINDS)('adds a copy of the first of %s under a free id', kind => {
    const first = listOf(bench, kind)[0]
    const done = add(bench, kind, copyOf(kind, first))
    expect(done.ok ? {} : done.errors).toEqual({})
    if (!done.ok) return
    expect(listOf(done.bench, kind)).toHaveLength(listOf(bench, kind).length + 1)
    const added = findEntry(done.bench, kind, done.id)
    expect({ ...added, id: '', nickname: '', name: '' }).toEqual({ ...first, id: '', nickname: '', name: '' })
    expect(done.label).toContain(nameOf(kind, added as Entry))
  })

  it('makes ids of names, and never one that is taken or not allowed', () => {
    expect(freeId(bench, 'receivers', 'Zoë’s 2nd Wren!')).toBe('zoe-s-2nd-wren')
    expect(freeId(bench, 'receivers', 'Wren trainer')).toBe('wren-trainer-2')
    expect(freeId(bench, 'receivers', '…')).toBe('receiver')
    expect(freeId(bench, 'receivers', 'n'.repeat(200)).length).toBeLessThanOrEqual(64)
  })

  it('adds nothing that lacks a name', () => {
    expect(add(bench, 'receivers', kinds.receivers.blank(bench))).toMatchObject({
      ok: false,
      errors: { nickname: 'This has to be filled in.' },
    })
  })

  it('refuses an id twice', () => {
    expect(add(bench, 'cards', entry('cards', 'card-tarn'))).toMatchObject({
      ok: false,
      errors: { id: 'The id "card-tarn" is used twice.' },
    })
  })
})

describe('deleting', () => {
  it('is refused while something refers to the thing, and says what', () => {
    const done = remove(bench, 'modules', 'reach-tarn')
    expect(done).toEqual({
      ok: false,
      references: [
        {
          kind: 'receivers',
          id: 'curlew-survey',
          name: 'Curlew in the survey wing',
          field: 'Bound to module',
        },
        { kind: 'models', id: 'survey', name: 'Survey wing', field: 'Module' },
        { kind: 'radios', id: 'tarn', name: 'Club Tarn', field: 'Modules' },
      ],
    })
  })

  it('takes the thing away when nothing refers to it, and the bench stays valid', () => {
    const done = remove(bench, 'sensors', 'vario')
    expect(done).toMatchObject({ ok: true, label: 'Delete Vario in the trainer' })
    expect(done.ok && done.bench.sensors.map(s => s.id)).toEqual(['current', 'vario-thermal', 'rpm-heli'])
  })

  it.each(KINDS)('agrees with the check of the bench about what is referred to among %s', kind => {
    for (const { id } of listOf(bench, kind)) {
      const isUsed = !remove(bench, kind, id).ok
      const without = setAt(
        bench,
        kind in bench ? kind : `catalogue.${kind}`,
        listOf(bench, kind).filter(e => e.id !== id),
      )
      const byUpdatePort = kind === 'connectors'
      if (!byUpdatePort) expect(checkBench(without).ok, `${kind} ${id}`).toBe(!isUsed)
    }
  })

  it('counts the wiring of the bench', () => {
    expect(referencesTo(bench, 'cables', 'update-cable')).toEqual([
      { kind: undefined, id: '', name: 'The wiring of this bench', field: 'Update cable' },
    ])
  })
})
