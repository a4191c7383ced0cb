/** A promise that did not end in its time. */
export class TimedOut extends Error {
  constructor(what: string, timeoutMs: number) {
    super(`${what} did not end within ${timeoutMs} ms`)
    this.name = 'TimedOut'
  }
}

/**
 * What a native binding promises, with a time limit of our own, for the binding has none.
 * @param late gets what comes after all, to be put away
 * @throws TimedOut
 */
export async function bounded<T>(
  promise: Promise<T>,
  timeoutMs: number,
  what: string,
  late?: (value: T) => void,
): Promise<T> {
  let timer: NodeJS.Timeout | undefined
  let isLate = false
  promise.then(
    value => {
      if (isLate) late?.(value)
    },
    () => {},
  )
  const limit = new Promise<never>((_, reject) => {
    timer = setTimeout(() => {
      isLate = true
      reject(new TimedOut(what, timeoutMs))
    }, timeoutMs)
  })
  try {
    return await Promise.race([promise, limit])
  } finally {
    clearTimeout(timer)
  }
}

export const waitMs = (ms: number): Promise<void> => new Promise(resolve => setTimeout(resolve, ms))
