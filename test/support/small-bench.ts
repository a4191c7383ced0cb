import { demoBench } from '../../shared/demo/bench.ts'
import { type Bench, checkBench } from '../../shared/model/bench.ts'
import type { RehearsalRequest } from '../../shared/rehearse/report.ts'

/** The demo with a Wren that has 8 KiB of program flash, so that a whole session takes a few milliseconds. */
export function smallBench(): Bench {
  const demo = demoBench()
  const bench: Bench = {
    ...demo,
    catalogue: {
      ...demo.catalogue,
      receiverTypes: demo.catalogue.receiverTypes.map(type =>
        type.id === 'aldwick-wren-6' ? { ...type, flash: { ...type.flash, programBytes: 8 * 1024 } } : type,
      ),
    },
    images: demo.images.map(image =>
      image.typeId === 'aldwick-wren-6'
        ? { ...image, sizeBytes: image.version === '2.4.0' ? 6000 : 5120 }
        : image,
    ),
  }
  const checked = checkBench(bench)
  if (!checked.ok) throw new Error(checked.problems[0].message)
  return checked.value
}

/** The small bench's own update, with what is to be otherwise. */
export const smallRequest = (change: Partial<RehearsalRequest> = {}): RehearsalRequest => ({
  bench: smallBench(),
  receiverId: 'wren-trainer',
  image: { kind: 'bench', imageId: 'wren-6-2.4.0' },
  route: 'cable',
  seed: 1,
  faults: [],
  dropOutside: false,
  ...change,
})

/** A Heron with 4 KiB of program flash that is converted to generation 3, which replaces its boot loader too. */
export function convertingRequest(change: Partial<RehearsalRequest> = {}): RehearsalRequest {
  const bench = smallBench()
  const converting: Bench = {
    ...bench,
    catalogue: {
      ...bench.catalogue,
      receiverTypes: bench.catalogue.receiverTypes.map(type =>
        type.id === 'tamsin-heron-8'
          ? { ...type, flash: { ...type.flash, programBytes: 4 * 1024, pageBytes: 1024 } }
          : type,
      ),
    },
    images: bench.images.map(image =>
      image.typeId === 'tamsin-heron-8' ? { ...image, sizeBytes: 3000 } : image,
    ),
  }
  return smallRequest({
    bench: converting,
    receiverId: 'heron-biplane',
    image: { kind: 'bench', imageId: 'heron-8-2.0.0' },
    ...change,
  })
}
