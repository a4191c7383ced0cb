import type { PortInfo } from '../../shared/api/ports.ts'
import type { WritePlan } from '../../shared/bench-run/plan.ts'
import { typeOfReceiver, usualDialect } from '../../shared/bench-run/spoken.ts'
import { BUS_DIALECT } from '../../shared/dialect/bus-write.ts'
import type { Bench } from '../../shared/model/bench.ts'
import { accessTo } from '../serial/access.ts'
import { latencyOf } from '../serial/latency.ts'
import { Ports } from '../serial/list.ts'
import { placeText, readPlace } from '../serial/port.ts'
import { PortsFile } from '../serial/ports-file.ts'
import { defaultReceiver, imageChoice } from './choices.ts'
import { bad, benchFrom, need } from './input.ts'
import { feedOption } from './wiring.ts'
import type { WriteOptions } from './write.ts'
import { echoOption, expectOption } from './write-direct.ts'
import { baudOption, onThisBench } from './write-mixed.ts'

/** What is to be written, from the options of the command line. */

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

/** @throws BadInput for a receiver with a service connector of which nobody has said what it speaks */
function usualFor(bench: Bench, receiverId: string): string {
  const type = typeOfReceiver(bench, receiverId)
  if (type === undefined) return BUS_DIALECT
  return (
    usualDialect(type) ??
    bad({
      code: 'cli.dialect',
      field: '--dialect',
      message: `The ${type.name} has a service connector, and its type does not say what is spoken there.`,
      expected:
        'the name of a dialect, or a dialect file; "preflash emulate --list" names those that are built in',
    })
  )
}

/**
 * @param dialect the name of what was chosen; undefined for the usual one of the receiver
 * @throws BadInput for what is not named, or cannot be read
 */
export async function planOf(options: WriteOptions, dialect: string | undefined): Promise<WritePlan> {
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
    dialect: dialect ?? usualFor(bench, receiverId),
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
