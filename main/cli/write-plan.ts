import type { PortInfo } from '../../shared/api/ports.ts'
import { type Chosen, chosenData } from '../../shared/bench-run/chosen.ts'
import type { WritePlan } from '../../shared/bench-run/plan.ts'
import { MOST_DIALECT_CHARACTERS, readDialect } from '../../shared/dialect/schema.ts'
import { accessTo } from '../serial/access.ts'
import { latencyOf } from '../serial/latency.ts'
import { Ports } from '../serial/list.ts'
import { placeText, readPlace } from '../serial/port.ts'
import { PortsFile } from '../serial/ports-file.ts'
import { defaultReceiver, imageChoice } from './choices.ts'
import { bad, benchFrom, need, readInput } from './input.ts'
import { feedOption } from './wiring.ts'
import type { WriteOptions } from './write.ts'
import { echoOption, expectOption } from './write-direct.ts'
import { baudOption, onThisBench } from './write-mixed.ts'

/** What is to be written, from the options of the command line. */

/** A dialect file is recognised by being a path; undefined for a name. @throws BadInput */
export async function dialectOption(text: string): Promise<Chosen | undefined> {
  if (!/[/\\]|\.json$/.test(text)) return undefined
  const octets = await readInput(text, 4 * MOST_DIALECT_CHARACTERS)
  return chosenData(need(readDialect(new TextDecoder().decode(octets), text)))
}

/** A port of the list, or one that was typed here and now. @throws BadInput for what is no place of a port */
export async function findPort(folder: string, place: string): Promise<PortInfo | undefined> {
  const known = await new Ports(new PortsFile(folder)).find(place)
  if (known) return known
  const at = need(readPlace(place))
  const [access, latency] =
    at.kind === 'local'
      ? await Promise.all([accessTo(at.path), latencyOf(at.path)])
      : [{ state: 'not-known' as const, text: 'found out when it is opened', remedy: undefined }, undefined]
  return {
    ...{ place: placeText(at), kind: 'typed', what: 'typed in', can: 'not known', nameStays: '' },
    ...{ isTyped: true, state: access.state, stateText: access.text },
    ...(access.remedy === undefined ? {} : { remedy: access.remedy }),
    ...{ latencyMs: latency?.ms ?? 0, latencyFrom: latency?.from ?? '' },
  }
}

/** @throws BadInput for what is not named, or cannot be read */
export async function planOf(options: WriteOptions, dialect: string): Promise<WritePlan> {
  const bench = await benchFrom(options)
  const receiverId = options.receiver ?? defaultReceiver(bench)
  const named = (field: 'adapter' | 'cable', list: readonly { readonly id: string }[]): string =>
    onThisBench(
      `--${field}`,
      options[field] ??
        bad({
          code: `wiring.no-${field}`,
          field: `--${field}`,
          message: `The ${field} is not named.`,
          expected: list.map(item => item.id).join(', ') || `a ${field} on the bench; there is none yet`,
        }),
      list,
    )
  return {
    bench,
    receiverId,
    image: await imageChoice(bench, receiverId, options),
    dropOutside: options.dropOutside ?? false,
    dialect,
    baud: baudOption(options.baud),
    port: portOption(options),
    adapterId: named('adapter', bench.adapters),
    cableId: named('cable', bench.cables),
    feed: feedOption(options.feed) ?? 'through-cable',
    supplyId: options.supply && onThisBench('--supply', options.supply, bench.supplies),
    echo: echoOption(options.echo),
    expect: expectOption(options.expect),
  }
}

/** @throws BadInput where no port is named */
export const portOption = ({ port }: WriteOptions): string =>
  port ??
  bad({
    code: 'cli.port',
    field: '--port',
    message: 'No port is named.',
    expected: 'a path such as /dev/ttyUSB0; "preflash ports" lists them',
  })
