/** Runs tasks that carry the same key one after the other, in the order in which they came. */
export function oneAtATime(): <T>(key: string, task: () => Promise<T>) => Promise<T> {
  const last = new Map<string, Promise<unknown>>()
  return (key, task) => {
    const mine = (last.get(key) ?? Promise.resolve()).then(task, task)
    last.set(key, mine)
    const forget = () => {
      if (last.get(key) === mine) last.delete(key)
    }
    mine.then(forget, forget)
    return mine
  }
}
