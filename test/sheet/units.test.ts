import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { checkBench } from '../../shared/model/bench.ts'
import { addUnits, MOST_AT_ONCE, severalOf } from '../../shared/sheet/add-units.ts'
import { readTable } from '../../shared/sheet/table.ts'
import {
  findNamed,
  readBand,
  readDecimal,
  readGeneration,
  readRegion,
  readVersion,
  readYesNo,
} from '../../shared/sheet/unit-cells.ts'
import { fieldOfHead, guessColumns, type TableKind, unitFields } from '../../shared/sheet/unit-fields.ts'
import { readUnits } from '../../shared/sheet/unit-rows.ts'

const bench = demoBench()

function units(kind: TableKind, text: string, typeId?: string) {
  const table = readTable(text, 'the pasted table')
  if (!table.ok) throw new Error(table.problems[0].code)
  const { rows } = table.value
  const guess = guessColumns(
    bench,
    kind,
    rows.map(row => row.cells),
  )
  return readUnits(bench, guess.hasHead ? rows.slice(1) : rows, { kind, fields: guess.fields, typeId })
}

describe('heads of columns', () => {
  it.each([
    ['Name', 'nickname'],
    ['RECEIVER TYPE', 'type'],
    ['FW', 'firmware'],
    ['Firmware version', 'firmware'],
    ['HW rev.', 'hardwareRevision'],
    ['Gen', 'generation'],
    ['Bound to', 'boundTo'],
    ['Flies in', 'model'],
    ['Region (LBT?)', 'region'],
    ['My remarks', 'note'],
    ['Colour', undefined],
    ['', undefined],
  ])('“%s” is %s', (head, field) => expect(fieldOfHead('receivers', head)).toBe(field))

  it('mean what they mean for this kind of thing', () => {
    expect(fieldOfHead('radios', 'Version')).toBe('systemVersion')
    expect(fieldOfHead('radios', 'Battery (V)')).toBe('batteryVolts')
    expect(fieldOfHead('modules', 'Radio')).toBe('radio')
  })

  it('are told from a first row of things', () => {
    const [type] = bench.catalogue.receiverTypes
    const rows = [
      ['Spare one', `${type.maker} ${type.name}`, '2.3.1', '3', 'lbt', ''],
      ['Spare two', type.name, '2.4.0', 'gen 3', 'FCC', 'x'],
    ]
    expect(guessColumns(bench, 'receivers', rows)).toEqual({
      hasHead: false,
      fields: ['nickname', 'type', 'firmware', 'generation', 'region', undefined],
    })
    expect(guessColumns(bench, 'receivers', [['Name', 'Type', 'Colour'], ...rows]).fields).toEqual([
      'nickname',
      'type',
      undefined,
    ])
  })

  it('mean a field only once', () => {
    expect(guessColumns(bench, 'receivers', [['Name', 'Label', 'Type']]).fields).toEqual([
      'nickname',
      undefined,
      'type',
    ])
    expect(unitFields.nickname.word).toBe('Name')
  })
})

describe('cells', () => {
  it.each([
    ['2.3.1', '2.3.1', undefined],
    ['v2.3.1', '2.3.1', undefined],
    ['2.3', '2.3.0', 'taken for 2.3.0'],
    ['', 'unknown', undefined],
    ['?', 'unknown', undefined],
    ['latest', 'unknown', 'stays not known'],
    ['01.2.3', '1.2.3', 'taken for 1.2.3'],
  ])('version “%s”', (cell, value, remark) => {
    const read = readVersion(cell)
    expect(read.value).toBe(value)
    if (remark === undefined) expect(read.remark).toBeUndefined()
    else expect(read.remark).toContain(remark)
  })

  it('of region, generation, band, yes and no, and decimal numbers', () => {
    expect(readRegion('Listen-before-talk')).toEqual({ value: 'lbt' })
    expect(readRegion('FCC')).toMatchObject({
      value: 'hopping',
      remark: expect.stringContaining('taken for'),
    })
    expect(readRegion('constructor').value).toBe('unknown')
    expect(readGeneration('Gen. 2').value).toBe(2)
    expect(readGeneration('0').value).toBe('unknown')
    expect(readBand('2,4 GHz').value).toBe('2.4GHz')
    expect(readBand('5.8 GHz')).toMatchObject({
      value: 'unknown',
      remark: expect.stringContaining('5.8 GHz'),
    })
    expect(readYesNo('x').value).toBe(true)
    expect(readYesNo('maybe').remark).toContain('neither yes nor no')
    expect(readDecimal('7,9 V').value).toBe(7.9)
    expect(readDecimal('7.9').value).toBe(7.9)
    expect(readDecimal('1,234.5').value).toBeUndefined()
  })

  it('name things by id, by name, or by a part that only one has', () => {
    const types = bench.catalogue.receiverTypes
    expect(findNamed(types, 'aldwick-wren-6')?.id).toBe('aldwick-wren-6')
    expect(findNamed(types, 'ALDWICK  Wren 6')?.id).toBe('aldwick-wren-6')
    expect(findNamed(types, 'wren')?.id).toBe('aldwick-wren-6')
    expect(findNamed(types, 'aldwick')).toBeUndefined()
    expect(findNamed(types, 'en 6')).toBeUndefined()
  })
})

describe('a table of receivers', () => {
  const rows = units(
    'receivers',
    [
      'Name;Type;FW;Gen;Region;Bound to;Model;Colour',
      'Spare Wren;Wren 6;2.3.1;3;LBT;Module of the Fell;;red',
      'Odd one;Plover 9;2.3.1;3;;;;',
      'Wren in the quad;Wren;new;;;Nobody;Quadcopter of mine;',
      ';Wren;;;;;;',
    ].join('\n'),
  )

  it('gives a unit for each row that is fine', () => {
    expect(rows[0]).toMatchObject({
      line: 2,
      wrong: [],
      remarks: [],
      isTwin: false,
      unit: {
        nickname: 'Spare Wren',
        typeId: 'aldwick-wren-6',
        firmware: '2.3.1',
        generation: 3,
        region: 'lbt',
      },
    })
    expect(bench.modules.find(m => m.nickname === 'Module of the Fell')?.id).toBe(
      (rows[0].unit as { boundTo?: string }).boundTo,
    )
  })

  it('keeps a receiver of a type that the bench does not have, of no known type, and says so', () => {
    expect(rows[1].wrong).toEqual([])
    expect(rows[1].unit).toMatchObject({ typeId: 'unknown', note: 'Type as written: Plover 9' })
    expect(rows[1].remarks[0]).toMatch(/^Type: there is no type “Plover 9”, .* There are: Aldwick Wren 6, /)
    expect(addUnits(bench, 'receivers', [rows[1]]).ok).toBe(true)
  })

  it('says what is wrong with a row', () => {
    expect(rows[3]).toMatchObject({ name: 'line 5', wrong: ['It has no name.'] })
  })

  it('says what stays not known, and that a name is there already', () => {
    expect(rows[2].isTwin).toBe(true)
    expect(rows[2].unit).toMatchObject({
      firmware: 'unknown',
      generation: 'unknown',
      hardwareRevision: 'unknown',
    })
    expect(rows[2].remarks).toEqual([
      'Bound to module: there is no one module called “Nobody”, so it is bound to none.',
      'In model: there is no one model called “Quadcopter of mine”, so it is in none.',
      'Firmware: “new” is not a version such as 2.3.1, so it stays not known.',
    ])
  })

  it('is added in one change, each with an id of its own, into its model', () => {
    const [model] = bench.models
    const into = units('receivers', `Name\tType\tModel\nTwin\tWren\t${model.name}\nTwin\tWren\t\n`)
    expect(into.map(row => row.isTwin)).toEqual([false, true])
    const added = addUnits(bench, 'receivers', into)
    if (!added.ok) throw new Error(added.problems[0].message)
    expect(added.value.label).toBe('Add 2 receivers')
    expect(added.value.ids).toEqual(['twin', 'twin-2'])
    expect(added.value.bench.models[0].receiverIds).toEqual([...model.receiverIds, 'twin'])
    expect(checkBench(added.value.bench).ok).toBe(true)
    expect(bench.receivers).toHaveLength(17)
  })

  it('does not put a fifth receiver into a model', () => {
    const [model] = bench.models
    const left = 4 - model.receiverIds.length
    const lines = Array.from({ length: left + 1 }, (_, i) => `R ${i}\tWren\t${model.name}`)
    const into = units('receivers', ['Name\tType\tModel', ...lines].join('\n'))
    expect(into.map(row => row.modelId)).toEqual([...Array(left).fill(model.id), undefined])
    expect(into.at(-1)?.remarks[0]).toContain('has four receivers already')
    expect(addUnits(bench, 'receivers', into).ok).toBe(true)
  })

  it('takes the type that was chosen for rows that say none', () => {
    const into = units('receivers', 'Name\nOne\nTwo', 'aldwick-wren-6')
    expect(into.map(row => row.unit?.typeId)).toEqual(['aldwick-wren-6', 'aldwick-wren-6'])
    const [open, asked] = units('receivers', 'Name;Type\nOne;\nTwo;?')
    for (const row of [open, asked]) {
      expect(row.unit).toMatchObject({ typeId: 'unknown' })
      expect(row.remarks).toContain('Type: not said, so it stays not known.')
    }
  })
})

describe('tables of modules and radios', () => {
  it('take decimal commas, and put modules into their radio', () => {
    const [radio] = units('radios', 'Name;Type;System;Battery\nSpare;Fell 10;2.9.0;7,9 V')
    expect(radio.unit).toMatchObject({ batteryVolts: 7.9, systemVersion: '2.9.0', moduleIds: [] })
    const fell = bench.radios.find(r => r.nickname === 'Old Fell')!
    const rows = units('modules', `Name;Type;Band;Radio\nReach;Skein Reach;868;${fell.nickname}`)
    expect(rows[0].unit).toMatchObject({ band: '868MHz', on: true, generation: 'unknown' })
    const added = addUnits(bench, 'modules', rows)
    expect(added.ok && added.value.bench.radios.find(r => r.id === fell.id)?.moduleIds).toEqual([
      ...fell.moduleIds,
      'reach',
    ])
  })

  it('need their type', () => {
    expect(units('radios', 'Name\nSpare')[0]).toMatchObject({ unit: undefined, wrong: ['It says no type.'] })
    expect(units('modules', 'Name;Type\nSpare;Plover')[0].wrong[0]).toMatch(
      /^There is no type “Plover”\. There are: /,
    )
  })

  it('refuse a battery that cannot be', () => {
    const [radio] = units('radios', 'Name;Type;Battery\nSpare;Fell 10;790')
    expect(radio.wrong).toEqual(['A battery of 790 V cannot be: from 0 to 60 V.'])
  })
})

describe('several at once', () => {
  it('are numbered, past names that are taken', () => {
    const once = addUnits(
      bench,
      'receivers',
      severalOf(bench, 'receivers', 'aldwick-wren-6', 2, 'Wren', 2, false),
    )
    if (!once.ok) throw new Error(once.problems[0].message)
    const rows = severalOf(once.value.bench, 'receivers', 'aldwick-wren-6', 3, ' Wren ', 1, true)
    expect(rows.map(row => row.name)).toEqual(['Wren 1', 'Wren 4', 'Wren 5'])
    expect(rows[0].unit).toMatchObject({ factoryFresh: true, generation: 3, firmware: 'unknown' })
    const again = addUnits(once.value.bench, 'receivers', rows)
    expect(again.ok && again.value.label).toBe('Add 3 receivers')
  })

  it('are bounded in number and in name', () => {
    const rows = severalOf(bench, 'modules', 'aldwick-skein-inner', 5000, 'x'.repeat(200), 1, false)
    expect(rows).toHaveLength(MOST_AT_ONCE)
    expect(addUnits(bench, 'modules', rows).ok).toBe(true)
    expect(rows[0].unit).toMatchObject({ band: '2.4GHz', region: 'unknown' })
  })
})
