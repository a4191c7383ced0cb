import { checkOf } from './checksums.ts'
import { mostOctets } from './encode.ts'
import { octetsOfHex, patternOfHex } from './hex.ts'
import type { CheckSpec, Dialect } from './schema.ts'
import type { AnswerPart, GroupPart, SendPart } from './schema-parts.ts'
import type { Step } from './schema-steps.ts'

/** Names in a dialect that name nothing, and parts that stand where they cannot. */

type Path = (string | number)[]
export interface BrokenName {
  readonly path: Path
  readonly message: string
}

interface Known {
  readonly timings: ReadonlySet<string>
  readonly replies: ReadonlySet<string>
  readonly checks: ReadonlySet<string>
  readonly captures: ReadonlySet<string>
  /** Answers that come in a frame, and how long the replies are. */
  readonly framedAnswers: { readonly step: Expecting; readonly path: Path }[]
  readonly replyOctets: ReadonlyMap<string, number>
  /** Sends that the frame goes around. */
  readonly frameSends: { readonly parts: readonly SendPart[]; readonly path: Path }[]
}
/** Sets of names only, never the objects: `constructor` is a property of every object and a name of nothing. */
const keys = (of: object): ReadonlySet<string> => new Set(Object.keys(of))

function shortReplies(known: Known, found: BrokenName[]): void {
  for (const { step, path } of known.framedAnswers)
    step.replies.forEach((reply, i) => {
      const said = known.replyOctets.get(reply)
      if (said !== undefined && said < 2)
        found.push({
          path: [...path, 'replies', i],
          message: 'a reply of at least 2 octets, as RFC 1662 frames have',
        })
    })
}

/** The octets that a part has at the least. */
function leastOf(part: SendPart): number {
  if (part.part === 'octets') return octetsOfHex(part.hex).length
  if (part.part === 'number') return part.size
  if (part.part === 'group')
    return Math.max(
      part.fillTo ?? 0,
      part.parts.reduce((sum, p) => sum + leastOf(p), 0),
    )
  return part.part === 'check' || part.part === 'data' ? 1 : 0
}

/** @returns what is wrong, with its place in the file; the messages are phrases of what would have been right */
export function brokenNames(dialect: Dialect): BrokenName[] {
  const found: BrokenName[] = []
  const lists = sectionsOf(dialect)
  const known: Known = {
    timings: keys(dialect.timings),
    replies: keys(dialect.replies),
    checks: keys(dialect.checks),
    captures: new Set(lists.flatMap(({ steps }) => capturesIn(steps))),
    frameSends: [],
    framedAnswers: [],
    replyOctets: new Map(
      Object.entries(dialect.replies).map(([name, { octets }]) => [name, patternOfHex(octets).octets.length]),
    ),
  }
  for (const [name, spec] of Object.entries(dialect.checks)) checkParameters(spec, ['checks', name], found)
  for (const { path, steps } of lists) walk(steps, path, known, found)
  framePlaces(dialect, known, found)
  sectionPlaces(dialect, known, found)
  return found.slice(0, 40)
}

/** All step lists of a dialect, with where each stands in the file. */
export function sectionsOf(dialect: Dialect): { path: string[]; steps: readonly Step[] }[] {
  const { enter, identify, erase, write, read, digest, start, leave, resynchronise } = dialect
  return [
    { path: ['enter'], steps: enter },
    { path: ['identify', 'steps'], steps: identify?.steps ?? [] },
    { path: ['erase', 'steps'], steps: erase?.steps ?? [] },
    { path: ['write', 'before'], steps: write.before },
    { path: ['write', 'block'], steps: write.block },
    { path: ['write', 'after'], steps: write.after },
    { path: ['read', 'steps'], steps: read?.steps ?? [] },
    { path: ['digest', 'steps'], steps: digest?.steps ?? [] },
    { path: ['start'], steps: start ?? [] },
    { path: ['leave'], steps: leave as readonly Step[] },
    { path: ['resynchronise'], steps: resynchronise },
  ]
}

function capturesIn(steps: readonly Step[]): string[] {
  return steps.flatMap(step => {
    if (step.do === 'expect')
      return [
        ...(step.capture === undefined ? [] : [step.capture]),
        ...step.parts.flatMap(part => (part.part === 'capture' ? [part.name] : [])),
      ]
    if (step.do === 'when') return [...capturesIn(step.steps), ...capturesIn(step.otherwise)]
    return step.do === 'request' || step.do === 'repeat' ? capturesIn(step.steps) : []
  })
}

function checkParameters(spec: CheckSpec, path: Path, found: BrokenName[]): void {
  try {
    checkOf(spec)
  } catch {
    found.push({ path, message: 'a CRC whose numbers fit its width' })
  }
}

function framePlaces({ frame, block }: Dialect, known: Known, found: BrokenName[]): void {
  if (frame?.kind === 'rfc1662') shortReplies(known, found)
  known.frameSends.forEach(({ parts, path }) => {
    const least = parts.reduce((sum, part) => sum + leastOf(part), 0)
    const most = mostOctets(parts, block.octets)
    if (frame?.kind === 'rfc1662' && least < 2)
      found.push({ path, message: 'parts of at least 2 octets, which is the shortest frame of RFC 1662' })
    if (frame?.kind !== 'start-length') return
    const carried = Math.min(frame.mostBody, 256 ** frame.length.size - 1 - frame.length.plus)
    if (least < 1 || most > carried)
      found.push({
        path,
        message: `parts of at least 1 and at most ${carried} octets, which the frame carries`,
      })
  })
  if (frame?.kind === 'start-length' && frame.check && !known.checks.has(frame.check.use))
    found.push({ path: ['frame', 'check', 'use'], message: 'a name that stands under checks' })
}

function sectionPlaces(dialect: Dialect, known: Known, found: BrokenName[]): void {
  dialect.identify?.fields.forEach((field, i) => {
    if (!known.captures.has(field.name))
      found.push({ path: ['identify', 'fields', i, 'name'], message: 'a name that an answer captures' })
  })
  const { digest, write, read, block } = dialect
  if (digest && !known.captures.has(digest.capture))
    found.push({ path: ['digest', 'capture'], message: 'a name that an answer captures' })
  if (digest && !known.checks.has(digest.check))
    found.push({ path: ['digest', 'check'], message: 'a name that stands under checks' })
  if (write.onRepeat === 'look' && read === undefined)
    found.push({ path: ['write', 'onRepeat'], message: 'a dialect with read steps, or "send"' })
  if (block.multiple > block.octets)
    found.push({ path: ['block', 'multiple'], message: 'a number no larger than block.octets' })
}

function walk(steps: readonly Step[], path: Path, known: Known, found: BrokenName[]): void {
  steps.forEach((step, i) => {
    const here = [...path, i]
    switch (step.do) {
      case 'wait':
      case 'quiet':
        return time(step.for, [...here, 'for'], known, found)
      case 'send':
        if (!step.bare) known.frameSends.push({ parts: step.parts, path: [...here, 'parts'] })
        return sendParts(step.parts, [...here, 'parts'], known, found)
      case 'expect':
        return expectation(step, here, known, found)
      case 'when':
        source(step.of, [...here, 'of'], known, found)
        if ((step.is === undefined) === (step.has === undefined))
          found.push({ path: here, message: 'either `is` or `has`, not both and not neither' })
        walk(step.steps, [...here, 'steps'], known, found)
        return walk(step.otherwise, [...here, 'otherwise'], known, found)
      case 'request':
        if (step.resynchronise) walk(step.resynchronise, [...here, 'resynchronise'], known, found)
        return walk(step.steps, [...here, 'steps'], known, found)
      case 'repeat':
        return walk(step.steps, [...here, 'steps'], known, found)
    }
  })
}

function time(of: number | string, path: Path, known: Known, found: BrokenName[]): void {
  if (typeof of === 'string' && !known.timings.has(of))
    found.push({ path, message: 'a number of milliseconds, or a name that stands under timings' })
}

function source(of: string, path: Path, known: Known, found: BrokenName[]): void {
  if (of.startsWith('capture:') && !known.captures.has(of.slice(8)))
    found.push({ path, message: 'capture: and a name that an answer captures' })
}

type Expecting = Extract<Step, { do: 'expect' }>

function expectation(step: Expecting, here: Path, known: Known, found: BrokenName[]): void {
  if (!step.bare) known.framedAnswers.push({ step, path: here })
  time(step.within, [...here, 'within'], known, found)
  if (step.unaskedEvery !== undefined) time(step.unaskedEvery, [...here, 'unaskedEvery'], known, found)
  if (step.crossing !== undefined) {
    time(step.crossing.within, [...here, 'crossing', 'within'], known, found)
    if (!step.replies.includes(step.crossing.reply))
      found.push({ path: [...here, 'crossing', 'reply'], message: 'one of the replies of this step' })
  }
  if (step.replies.length === 0 && step.parts.length === 0)
    found.push({ path: here, message: 'at least one reply or one part' })
  step.replies.forEach((reply, i) => {
    if (!known.replies.has(reply))
      found.push({ path: [...here, 'replies', i], message: 'a name that stands under replies' })
  })
  for (const reply of Object.keys(step.as))
    if (!step.replies.includes(reply))
      found.push({ path: [...here, 'as', reply], message: 'one of the replies of this step' })
  answerParts(step.parts, [...here, 'parts'], known, found)
}

function sendParts(parts: readonly SendPart[], path: Path, known: Known, found: BrokenName[]): void {
  const groups = new Set<string>()
  parts.forEach((part, i) => {
    const here = [...path, i]
    if (part.part === 'group') {
      groups.add(part.name)
      groupParts(part, [...here, 'parts'], known, found)
    } else if (part.part === 'check') checkPlace(part, groups, here, known, found)
    else if (part.part === 'number') numberPlace(part, here, known, found)
  })
}

function groupParts(group: GroupPart, path: Path, known: Known, found: BrokenName[]): void {
  group.parts.forEach((part, i) => {
    if (part.part === 'number') numberPlace(part, [...path, i], known, found)
  })
}

function numberPlace(
  part: { of: string; check?: string | undefined },
  path: Path,
  known: Known,
  found: BrokenName[],
): void {
  source(part.of, [...path, 'of'], known, found)
  if (part.of === 'imageCheck' && (part.check === undefined || !known.checks.has(part.check)))
    found.push({ path: [...path, 'check'], message: 'a name that stands under checks' })
}

function checkPlace(
  part: { use: string; over: string },
  groups: ReadonlySet<string>,
  path: Path,
  known: Known,
  found: BrokenName[],
): void {
  if (!known.checks.has(part.use))
    found.push({ path: [...path, 'use'], message: 'a name that stands under checks' })
  if (part.over !== 'all' && !groups.has(part.over))
    found.push({ path: [...path, 'over'], message: 'all, or the name of a group before it' })
}

function answerParts(parts: readonly AnswerPart[], path: Path, known: Known, found: BrokenName[]): void {
  parts.forEach((part, i) => {
    const here = [...path, i]
    if (part.part === 'number') numberPlace(part, here, known, found)
    else if (part.part === 'check') checkPlace(part, new Set(), here, known, found)
    else if (part.part === 'capture') {
      if (part.length) source(part.length.of, [...here, 'length', 'of'], known, found)
      if ((part.size === undefined) === (part.length === undefined))
        found.push({ path: here, message: 'either `size` or `length`, not both and not neither' })
      if (
        typeof part.says === 'object' &&
        'memoryCheck' in part.says &&
        !known.checks.has(part.says.memoryCheck)
      )
        found.push({ path: [...here, 'says', 'memoryCheck'], message: 'a name that stands under checks' })
    }
  })
}
