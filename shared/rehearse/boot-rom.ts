import type { ReceiverType } from '../model/catalogue.ts'
import { bootLoaderImage, type ReceiverMemory } from '../sim/memory.ts'
export function rewriteThroughBootRom(memory: ReceiverMemory, _type: ReceiverType, _seed: number): void {
  memory.boot.octets.set(bootLoaderImage(1, memory.boot.octets.length))
}
