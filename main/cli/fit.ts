import { Command } from 'commander'
import { afterwardsFor } from '../../shared/fit/afterwards.ts'
import { type Question, questionsFor } from '../../shared/fit/ask.ts'
import { builtFacts } from '../../shared/fit/built-facts.ts'
import { observations, possibleTypes, typeLabel } from '../../shared/fit/identify.ts'
import { type Candidate, type Ranked, rankImages, type Verdict } from '../../shared/fit/rank.ts'
import { RULES } from '../../shared/fit/rules.ts'
import { situationOf } from '../../shared/fit/situation.ts'
import { readImageCard } from '../../shared/image/image-card.ts'
import { type Bench, findType } from '../../shared/model/bench.ts'
import type { ReceiverType } from '../../shared/model/catalogue.ts'
import type { ReceiverUnit } from '../../shared/model/gear.ts'
import { isKnown, type Route } from '../../shared/model/units.ts'
import { readyImage } from '../../shared/rehearse/image.ts'
import { reportFinding } from '../../shared/rehearse/rehearse.ts'
import { FAMILY_OPTION, imageFile, routeOption } from './choices.ts'
import { type Ending, EXIT } from './ending.ts'
import { bad, benchFrom, need } from './input.ts'

interface Options extends Asked {
  readonly receiver: string
}

interface Asked {
  readonly demo?: boolean
  readonly bench?: string
  readonly receiver?: string
  readonly rules?: boolean
  readonly image: readonly string[]
  readonly declare?: string
  readonly family?: string
  readonly route?: string
  readonly json?: boolean
}

const gather = (value: string, previous: readonly string[]) => [...previous, value]

export function fitCommand(end: (ending: Ending) => void): Command {
  return new Command('fit')
    .description(
      'Rank images for one receiver by the rules they meet and break, and say what to look up next.',
    )
    .option('--demo', 'on the demo bench (what is taken when no bench is named)')
    .option('--bench <file>', 'on this bench file')
    .option('--receiver <id>', 'the receiver')
    .option(
      '--image <file-or-id>',
      'an image; may be given several times; without it, all on the bench',
      gather,
      [],
    )
    .option(...FAMILY_OPTION)
    .option('--declare <what>', 'what an image file without an image card is for: type=ID,version=X')
    .option('--route <route>', 'cable or wireless')
    .option('--rules', 'list the rules instead: what each claims, its source, who stands by it')
    .option('--json', 'print JSON')
    .action(async (options: Asked) => end(await run(options)))
}

async function run(asked: Asked): Promise<Ending> {
  if (asked.rules) return listRules(asked.json ?? false)
  const { receiver } = asked
  if (receiver === undefined)
    return bad({
      code: 'fit.no-receiver',
      field: '--receiver',
      message: 'The receiver is not named.',
      expected: '--receiver ID, or --rules for a list of the rules',
    })
  const options: Options = { ...asked, receiver }
  const bench = await benchFrom(options)
  const route = routeOption(options.route)
  const candidates = await candidatesOf(bench, options)
  const ranked =
    rankImages(bench, options.receiver, route, candidates) ??
    bad({
      code: 'bench.no-receiver',
      field: '--receiver',
      message: `There is no receiver called "${options.receiver}" on this bench.`,
      expected: `one of ${bench.receivers.map(r => r.id).join(', ')}`,
    })
  const [askNext] = questionsFor(bench, options.receiver, route, candidates)
  process.stdout.write(
    options.json
      ? `${JSON.stringify(asJson(bench, options.receiver, route, ranked, askNext), null, 2)}\n`
      : `${asText(ranked, askNext)}${sayType(bench, options.receiver)}`,
  )
  return ranked[0]?.verdict === 'fits' ? EXIT.done : EXIT.negative
}

/** Every rule there is, for those who want to know what is looked at. */
function listRules(json: boolean): Ending {
  const rules = RULES.map(({ id, claim, severity, enforcedBy, source }) => {
    return { id, claim, severity, enforcedBy, source }
  })
  const text = rules.map(
    r => `${r.id.padEnd(20)} ${r.severity.padEnd(5)} ${r.enforcedBy.padEnd(8)} ${r.claim} (${r.source})`,
  )
  process.stdout.write(json ? `${JSON.stringify({ rules }, null, 2)}\n` : `${text.join('\n')}\n`)
  return EXIT.done
}

async function candidatesOf(bench: Bench, options: Options): Promise<Candidate[]> {
  const typeOf = (id: string) => findType(bench.catalogue, 'receiverTypes', id) as ReceiverType | undefined
  const built = bench.images.map(i => ({ id: i.id, name: i.name, facts: builtFacts(i, typeOf(i.typeId)) }))
  if (options.image.length === 0) return built
  const unit = bench.receivers.find(r => r.id === options.receiver)
  return Promise.all(
    options.image.map(async (given): Promise<Candidate> => {
      const known = built.find(c => c.id === given)
      if (known) return known
      const choice = await imageFile(given, options)
      const own = typeOf(unit && !isKnown(unit.typeId) ? namedType(choice, given) : (unit?.typeId ?? ''))
      if (own === undefined)
        return bad({
          code: 'bench.no-receiver',
          field: '--receiver',
          message: `There is no receiver called "${options.receiver}" of a type on this bench.`,
        })
      // What lies outside program flash is a finding here, not a reason to stop.
      const image = need(readyImage(bench, own, choice, true))
      return {
        id: given,
        name: image.name,
        facts: { ...image.facts, outsideBytes: image.droppedOutsideBytes },
      }
    }),
  )
}

/** What a file is for has to be said by itself or its card where the receiver's type cannot say it. */
function namedType(choice: Awaited<ReturnType<typeof imageFile>>, given: string): string {
  const card = choice.kind === 'file' && choice.cardText ? readImageCard(choice.cardText, given) : undefined
  const named =
    choice.kind === 'file' ? (choice.declared?.typeId ?? (card?.ok ? card.value.typeId : undefined)) : ''
  return (
    named ??
    bad({
      code: 'image.for-what',
      file: given,
      field: '--image',
      message: 'Neither the type of the receiver nor what the image is for is known.',
      expected: 'an image card beside the file, or --declare type=ID',
    })
  )
}

/** Of a receiver whose type is not known: which types it may be of, and why not the others. */
function typeOfUnmarked(bench: Bench, unit: ReceiverUnit) {
  const { possible, excluded } = possibleTypes(bench, unit)
  return {
    seen: observations(bench, unit).map(o => o.label),
    possible: possible.map(t => t.id),
    excluded: excluded.map(({ type, because }) => ({ type: type.id, because })),
  }
}

function sayType(bench: Bench, receiverId: string): string {
  const unit = bench.receivers.find(r => r.id === receiverId)
  if (unit === undefined || isKnown(unit.typeId)) return ''
  const { possible, excluded } = possibleTypes(bench, unit)
  const could = possible.length === 0 ? 'no type on this bench' : possible.map(typeLabel).join(', ')
  return [
    `\nThe type is not known. It may be: ${could}.`,
    ...excluded.map(e => `  not  ${e.because}`),
    '',
  ].join('\n')
}

function asJson(
  bench: Bench,
  receiver: string,
  route: Route,
  ranked: readonly Ranked[],
  askNext: Question | undefined,
) {
  const unit = bench.receivers.find(r => r.id === receiver)
  return {
    receiver,
    route,
    ...(unit && !isKnown(unit.typeId) ? { typeNotKnown: typeOfUnmarked(bench, unit) } : {}),
    ranked: ranked.map(r => ({
      image: r.candidate.id,
      name: r.candidate.name,
      fits: r.verdict === 'fits',
      verdict: r.verdict,
      findings: r.findings.map(reportFinding),
      // Of one that does not go in there is nothing to do again.
      afterwards: r.verdict === 'does-not-fit' ? [] : afterwardsOf(bench, receiver, route, r),
    })),
    askNext: askNext
      ? {
          fact: askNext.fact,
          text: askNext.text,
          look: askNext.look,
          bits: Math.round(askNext.bits * 1000) / 1000,
          answers: askNext.answers.map(({ value, label, fits, ruledOut, leaves }) => ({
            value,
            label,
            fits,
            ruledOut,
            ...(leaves ? { leaves } : {}),
          })),
        }
      : null,
  }
}

function afterwardsOf(bench: Bench, receiver: string, route: Route, { candidate }: Ranked): string[] {
  const situation = situationOf(bench, receiver, route, candidate.facts)
  return situation === undefined ? [] : afterwardsFor(situation)
}

const words: Readonly<Record<Verdict, string>> = {
  fits: 'FITS',
  'not-known': 'NOT KNOWN',
  'does-not-fit': 'does not fit',
}

function asText(ranked: readonly Ranked[], askNext: Question | undefined): string {
  const lines = ranked.flatMap(r => [
    `${words[r.verdict].padEnd(12)}  ${r.candidate.id}  ${r.candidate.name}`,
    ...r.findings
      .filter(f => f.holds !== 'yes')
      .map(f => {
        const [remedy] = f.remedies
        return `                ${f.holds === 'no' ? 'no' : '? '}  ${f.sentence}${remedy ? ` ${remedy.label}` : ''}`
      }),
  ])
  if (askNext) lines.push('', `Look up next: ${askNext.text} ${askNext.look}`)
  return `${lines.join('\n')}\n`
}
