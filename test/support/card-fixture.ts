import { readdirSync, readFileSync } from 'node:fs'
import * as fs from 'node:fs/promises'
import { join } from 'node:path'
import type { StoreSteps } from '../../main/card/card-folder.ts'
import type { Target } from '../../main/card/target.ts'
import { demoBench } from '../../shared/demo/bench.ts'
import type { ReceiverType } from '../../shared/model/catalogue.ts'
import { benchImage, type ReadyImage } from '../../shared/rehearse/image.ts'

export const AT = '2026-11-25T10:00:00Z'

/** An image of the demo, made ready for its own type. */
export function demoImage(imageId = 'wren-6-2.4.0'): ReadyImage {
  const bench = demoBench()
  const typeId = bench.images.find(i => i.id === imageId)?.typeId
  const type = bench.catalogue.receiverTypes.find(t => t.id === typeId) as ReceiverType
  const image = benchImage(bench, type, imageId)
  if (!image.ok) throw new Error(`there is no ${imageId}`)
  return image.value
}

/** A folder that stands in for a card. */
export const asCard = (root: string): Target => ({ root, kind: 'card', volume: undefined })

/** Every file under a folder with what it holds, by path; to see that nothing has changed. Links are not followed. */
export function snapshot(root: string, under = ''): Record<string, string> {
  const files: Record<string, string> = {}
  for (const entry of readdirSync(join(root, under), { withFileTypes: true })) {
    const path = join(under, entry.name)
    if (entry.isDirectory()) Object.assign(files, snapshot(root, path))
    else if (entry.isFile()) files[path] = readFileSync(join(root, path)).toString('base64')
  }
  return files
}

type Step = keyof StoreSteps | 'write' | 'sync' | 'read' | 'close'

export const systemError = (code: string) => Object.assign(new Error(code), { code })

/**
 * The real file system, but for what `spoil` throws: asked before every step, with how often this step was asked for.
 */
export function spoiledSteps(
  spoil: (step: Step, nth: number, path: string) => void | Promise<void>,
): StoreSteps {
  const asked = new Map<Step, number>()
  const before = async (step: Step, path: string) => {
    const nth = (asked.get(step) ?? 0) + 1
    asked.set(step, nth)
    await spoil(step, nth, path)
  }
  const guard = <T extends object>(target: T, path: string, names: readonly string[]): T =>
    new Proxy(target, {
      get(on, name) {
        const member: unknown = Reflect.get(on, name)
        if (typeof member !== 'function') return member
        if (!names.includes(String(name))) return member.bind(on)
        return async (...args: unknown[]) => {
          await before(name as Step, path === '' ? String(args[0]) : path)
          const given: unknown = await member.apply(on, args)
          return name === 'open' ? guard(given as object, String(args[0]), FILE_STEPS) : given
        }
      },
    })
  return guard(fs as StoreSteps, '', ['open', 'rename', 'unlink', 'lstat', 'statfs', 'mkdir', 'rmdir'])
}
const FILE_STEPS = ['write', 'sync', 'read', 'close']
