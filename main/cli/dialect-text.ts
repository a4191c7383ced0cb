import type { DialectListed } from '../../shared/api/dialects.ts'
import type { ExchangeReport } from '../../shared/dialect/exchange-report.ts'
import { sayProblem } from '../../shared/model/problem.ts'
import type { DialectList } from '../store/dialect-files.ts'

/** Dialects, and how one compares with an exchange, in lines for a terminal. */

const fromWords: Readonly<Record<DialectListed['from'], string>> = {
  'built-in': 'built in',
  demo: 'an example of the demo',
  file: 'a file',
}

export const listText = (dialects: readonly DialectListed[]): string =>
  dialects.map(d => `${d.name.padEnd(18)}${d.title} (${fromWords[d.from]})\n`).join('')

export const brokenText = (broken: DialectList['broken']): string =>
  broken.flatMap(({ problems }) => problems.map(p => `${sayProblem(p)}\n`)).join('')

const verifyWords: Readonly<Record<DialectListed['can']['verify'], string>> = {
  'read-back': 'by reading back all that was written',
  digest: 'by a check sum that the receiver works out',
  none: 'cannot be done: the boot loader has no way to it',
}

export function dialectText(d: DialectListed): string {
  const rates = d.baud.length === 0 ? 'as the type of the receiver says' : `${d.baud.join(', ')} baud`
  const row = (name: string, text: string) => `  ${name.padEnd(10)}${text}\n`
  return [
    `${d.title}: ${d.name}, ${fromWords[d.from]}\n`,
    row('From', `${d.source.text}, ${d.source.date}`),
    row('Line', `${rates}, ${d.oneWire ? 'one wire for both ways' : 'a wire for each way'}${inverted(d)}`),
    row('Asks', asks(d)),
    row('Backup', d.can.backup ? 'what is there can be read out first' : 'what is there cannot be read out'),
    row('Verify', verifyWords[d.can.verify]),
    row('Restart', d.can.start ? 'it can be told to start the image' : 'switch the receiver off and on'),
    row('Proof', proof(d)),
    ...(d.notes === null ? [] : [row('Note', d.notes)]),
  ].join('')
}

const inverted = (d: DialectListed): string => (d.inverted ? ', inverted' : '')

const asks = (d: DialectListed): string =>
  d.can.identify
    ? `the receiver says ${d.identity.map(f => f.label).join(', ')}`
    : 'the receiver cannot be asked what it is'

const proof = (d: DialectListed): string =>
  d.can.prove
    ? 'it can be asked afterwards which version runs'
    : 'it cannot be asked which version runs: look at the receiver, or ask it another way'

const ARROW = { receiver: '→', workbench: '←' } as const

export function exchangeText({ recognised, difference }: ExchangeReport): string {
  const rows = recognised.map(({ line, to, hex, what, values }) => {
    const named = Object.entries(values).map(([name, value]) => `${name} = ${value}`)
    return `${String(line).padStart(5)}  ${ARROW[to]} ${short(hex)}  ${[what, ...named].join(', ')}\n`
  })
  const verdict =
    difference === undefined
      ? 'They agree, octet for octet.\n'
      : `The first difference is in line ${difference.line}. ${difference.text}\n`
  return [...rows, verdict].join('')
}

const MOST_SHOWN = 36
const short = (hex: string): string =>
  (hex.length <= MOST_SHOWN ? hex : `${hex.slice(0, MOST_SHOWN - 2)} …`).padEnd(MOST_SHOWN)
