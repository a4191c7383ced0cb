import { z } from 'zod'
import { type Catalogue, catalogueSchema } from './catalogue.ts'
import { fieldPath, withLines } from './field-line.ts'
import {
  adapterUnitSchema,
  cableUnitSchema,
  cardUnitSchema,
  modelSchema,
  moduleUnitSchema,
  radioUnitSchema,
  receiverUnitSchema,
  sensorUnitSchema,
  supplyUnitSchema,
  wiringSchema,
} from './gear.ts'
import { parseJson } from './parse-json.ts'
import { failed, type Problem, type Result, succeeded } from './problem.ts'
import {
  bandSchema,
  generationSchema,
  idSchema,
  isKnown,
  known,
  labelSchema,
  noteSchema,
  rangeSchema,
  regionSchema,
  versionSchema,
} from './units.ts'
import { isOfOtherKind, valueAt, wordsOfIssue, wordsOfWhole } from './zod-words.ts'

/** An image the bench can build itself, from the program tables in `shared/image/build.ts`. */
export const builtImageSchema = z.object({
  id: idSchema,
  name: labelSchema,
  typeId: idSchema,
  version: versionSchema,
  sequenceNumber: z.number().int().min(0).max(0xffff_ffff),
  generation: generationSchema,
  convertsFrom: generationSchema.optional(),
  bands: z.array(bandSchema).min(1),
  region: z.union([regionSchema, z.literal('any')]),
  hardwareRevisions: z.union([z.array(labelSchema), z.literal('any')]),
  wirelessCapable: known(z.boolean()),
  moduleFirmware: rangeSchema.optional(),
  radioSystem: rangeSchema.optional(),
  /** What the receiver has to run before: stepping stones; RFC 9124, required image version list. */
  receiverFirmware: rangeSchema.optional(),
  sizeBytes: z
    .number()
    .int()
    .min(2048)
    .max(8 * 1024 * 1024),
  releaseNotes: z.string().max(2000),
})
export type BuiltImage = z.infer<typeof builtImageSchema>

export const benchSchema = z.object({
  format: z.literal('preflash-bench'),
  formatVersion: z.literal(1),
  name: labelSchema,
  note: noteSchema,
  catalogue: catalogueSchema,
  radios: z.array(radioUnitSchema).max(500),
  modules: z.array(moduleUnitSchema).max(1000),
  receivers: z.array(receiverUnitSchema).max(5000),
  supplies: z.array(supplyUnitSchema).max(1000),
  cables: z.array(cableUnitSchema).max(500),
  /** Bench files from before there were any have none. */
  adapters: z.array(adapterUnitSchema).max(200).default([]),
  cards: z.array(cardUnitSchema).max(500),
  sensors: z.array(sensorUnitSchema).max(5000),
  models: z.array(modelSchema).max(5000),
  images: z.array(builtImageSchema).max(5000),
  wiring: wiringSchema,
})
export type Bench = z.infer<typeof benchSchema>

export type UnitKind =
  | 'radios'
  | 'modules'
  | 'receivers'
  | 'supplies'
  | 'cables'
  | 'adapters'
  | 'cards'
  | 'sensors'
  | 'models'

/** A bench file larger than this is refused before it is parsed. */
export const MAX_BENCH_FILE_BYTES = 8 * 1024 * 1024

/** A bench can be wrong in thousands of places; nobody reads more of them than this before mending the file. */
const MOST_PROBLEMS = 20

const wordsIn = (issue: z.core.$ZodIssue, raw: unknown) =>
  raw === undefined ? { message: issue.message } : wordsOfIssue(issue, valueAt(raw, issue.path))

const CORRECT_FIELD = 'Correct this field and open the file again; nothing already saved was changed.'
const OTHER_FILE =
  'Choose another file: this one is damaged, or something else. Nothing already saved was changed.'

/**
 * zod's complaints as problems that name the field, the first of each.
 * @param raw what was checked; without it, problems are in zod's own words
 */
export function problemsOfZod(error: z.ZodError, code: string, file?: string, raw?: unknown): Problem[] {
  const firsts = new Map<string, Problem>()
  for (const issue of error.issues) {
    const field = fieldPath(issue.path) || '(whole file)'
    if (firsts.has(field)) continue
    firsts.set(
      field,
      raw !== undefined && isOfOtherKind(issue)
        ? { code, ...wordsOfWhole(issue, raw), file, field, remedy: OTHER_FILE }
        : { code, ...wordsIn(issue, raw), file, field, remedy: CORRECT_FIELD },
    )
  }
  return [...firsts.values()].slice(0, MOST_PROBLEMS)
}

/**
 * Reads a bench file.
 * @param text the whole file, UTF-8 already decoded
 * @returns the bench, or problems that name the line and, where the text is JSON, the field
 */
export function readBench(text: string, file: string): Result<Bench> {
  if (text.length > MAX_BENCH_FILE_BYTES)
    return failed({
      code: 'bench.too-large',
      file,
      message: 'The file is too large to be a bench file.',
      expected: 'at most 8 MiB',
    })
  const parsedJson = parseJson(text)
  if (!parsedJson.ok)
    return failed({
      code: 'bench.not-json',
      file,
      line: parsedJson.line,
      message: `This is not a readable bench file: ${parsedJson.why}.`,
      expected: 'a file saved by Preflash',
      remedy: 'Choose another file, or mend this one with a text editor.',
    })
  const raw = parsedJson.value
  const checked = checkBench(raw, file)
  return checked.ok ? checked : failed(...withLines(checked.problems, text))
}

/** Validates the content of a bench, its ids and its references. */
export function checkBench(raw: unknown, file?: string): Result<Bench> {
  const parsed = benchSchema.safeParse(raw)
  if (!parsed.success)
    return failed(...(notOurs(raw, file) ?? problemsOfZod(parsed.error, 'bench.field', file, raw)))
  const problems = [...duplicateIds(parsed.data), ...brokenReferences(parsed.data)]
    .slice(0, MOST_PROBLEMS)
    .map(p => ({ ...p, file }))
  return problems.length > 0 ? failed(...problems) : succeeded(parsed.data)
}

/** Of a file of something else, or of another time, no single field is worth a complaint. */
function notOurs(raw: unknown, file: string | undefined): Problem[] | undefined {
  const { format, formatVersion } = benchSchema.shape
  if (typeof raw !== 'object' || raw === null || Array.isArray(raw)) return undefined
  if (valueAt(raw, ['format']) === 'preflash-types')
    return [
      {
        code: 'bench.is-a-sheet',
        file,
        field: 'format',
        message: 'This is a type sheet, not a bench.',
        expected: `"format": "${format.value}"`,
        remedy: 'Open a bench first, then import the sheet under Fleet, “Everything on the bench”.',
      },
    ]
  if (!format.safeParse(valueAt(raw, ['format'])).success)
    return [
      {
        code: 'bench.not-a-bench',
        file,
        field: 'format',
        message: 'This is not a bench file.',
        expected: `"format": "${format.value}", as every bench file has it`,
        remedy: 'Choose a file that Preflash has saved.',
      },
    ]
  if (formatVersion.safeParse(valueAt(raw, ['formatVersion'])).success) return undefined
  return [
    {
      code: 'bench.version',
      file,
      field: 'formatVersion',
      message: 'This bench was saved in a form that this version of Preflash does not know.',
      expected: `"formatVersion": ${formatVersion.value}`,
      remedy: 'Open it with the Preflash that saved it.',
    },
  ]
}

function duplicateIds(bench: Bench): Problem[] {
  const problems: Problem[] = []
  const lists: [string, readonly { id: string }[]][] = [
    ...Object.entries(bench.catalogue).map(([k, v]): [string, readonly { id: string }[]] => [
      `catalogue.${k}`,
      v,
    ]),
    ...(
      [
        'radios',
        'modules',
        'receivers',
        'supplies',
        'cables',
        'adapters',
        'cards',
        'sensors',
        'models',
        'images',
      ] as const
    ).map((k): [string, readonly { id: string }[]] => [k, bench[k]]),
  ]
  for (const [field, list] of lists) {
    const seen = new Set<string>()
    list.forEach((item, i) => {
      if (seen.has(item.id))
        problems.push({
          code: 'bench.duplicate-id',
          message: `The id "${item.id}" is used twice.`,
          field: `${field}[${i}].id`,
          remedy: 'Give one of the two another id.',
        })
      seen.add(item.id)
    })
  }
  return problems
}

function brokenReferences(bench: Bench): Problem[] {
  const problems: Problem[] = []
  const ids = (list: readonly { id: string }[]) => new Set(list.map(item => item.id))
  const c = bench.catalogue
  const known = {
    radioTypes: ids(c.radioTypes),
    moduleTypes: ids(c.moduleTypes),
    receiverTypes: ids(c.receiverTypes),
    connectors: ids(c.connectors),
    radios: ids(bench.radios),
    modules: ids(bench.modules),
    receivers: ids(bench.receivers),
    supplies: ids(bench.supplies),
    cables: ids(bench.cables),
    cards: ids(bench.cards),
  }
  const need = (set: keyof typeof known, id: string | undefined, field: string) => {
    if (id !== undefined && !known[set].has(id))
      problems.push({
        code: 'bench.reference',
        message: `"${id}" is not in the list ${set}.`,
        field,
        expected: `an id from ${set}`,
        remedy: 'Correct the id, or add what it names.',
      })
  }
  c.radioTypes.forEach((t, i) => {
    if (isKnown(t.updatePort))
      need('connectors', t.updatePort.connectorId, `catalogue.radioTypes[${i}].updatePort.connectorId`)
  })
  c.receiverTypes.forEach((t, i) => {
    need('connectors', t.connectorId, `catalogue.receiverTypes[${i}].connectorId`)
    need('connectors', t.service?.connectorId, `catalogue.receiverTypes[${i}].service.connectorId`)
  })
  bench.radios.forEach((r, i) => {
    need('radioTypes', r.typeId, `radios[${i}].typeId`)
    r.moduleIds.forEach((m, k) => need('modules', m, `radios[${i}].moduleIds[${k}]`))
    need('cards', r.cardId, `radios[${i}].cardId`)
  })
  bench.modules.forEach((m, i) => need('moduleTypes', m.typeId, `modules[${i}].typeId`))
  bench.receivers.forEach((r, i) => {
    if (isKnown(r.typeId)) need('receiverTypes', r.typeId, `receivers[${i}].typeId`)
    if (r.seen && isKnown(r.seen.connectorId))
      need('connectors', r.seen.connectorId, `receivers[${i}].seen.connectorId`)
    need('modules', r.boundTo, `receivers[${i}].boundTo`)
  })
  bench.sensors.forEach((s, i) => need('receivers', s.receiverId, `sensors[${i}].receiverId`))
  bench.models.forEach((m, i) => {
    need('radios', m.radioId, `models[${i}].radioId`)
    need('modules', m.moduleId, `models[${i}].moduleId`)
    m.receiverIds.forEach((r, k) => need('receivers', r, `models[${i}].receiverIds[${k}]`))
    need('supplies', m.supplyId, `models[${i}].supplyId`)
  })
  bench.images.forEach((im, i) => need('receiverTypes', im.typeId, `images[${i}].typeId`))
  need('cables', bench.wiring.cableId, 'wiring.cableId')
  need('supplies', bench.wiring.benchSupplyId, 'wiring.benchSupplyId')
  return problems
}

/** The bench as the text of a file: stable key order, one line a field, so that two versions compare well. */
export const writeBench = (bench: Bench): string => `${JSON.stringify(benchSchema.parse(bench), null, 2)}\n`

/** @returns undefined where the catalogue has no such type, and for an id that is `unknown` */
export function findType<K extends keyof Catalogue>(
  catalogue: Catalogue,
  list: K,
  id: string,
): Catalogue[K][number] | undefined {
  return (catalogue[list] as readonly Catalogue[K][number][]).find(type => type.id === id)
}

/** What hangs together with one receiver: the radio, module, model and card that an update of it involves. */
export function around(bench: Bench, receiverId: string) {
  const receiver = bench.receivers.find(r => r.id === receiverId)
  const model = bench.models.find(m => m.receiverIds.includes(receiverId))
  const moduleId = receiver?.boundTo ?? model?.moduleId
  const radio =
    bench.radios.find(r => moduleId !== undefined && r.moduleIds.includes(moduleId)) ??
    bench.radios.find(r => r.id === model?.radioId) ??
    bench.radios[0]
  const module = bench.modules.find(m => m.id === (moduleId ?? radio?.moduleIds[0]))
  const card = bench.cards.find(c => c.id === radio?.cardId)
  const supply = bench.supplies.find(s => s.id === (model?.supplyId ?? bench.wiring.benchSupplyId))
  const cable = bench.cables.find(c => c.id === bench.wiring.cableId)
  const sensors = bench.sensors.filter(s => s.receiverId === receiverId)
  return { receiver, model, radio, module, card, supply, cable, sensors }
}
