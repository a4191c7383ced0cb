/**
 * Where a key leads among the cards of a question.
 * @param at the card that has the focus, from 0
 * @returns undefined for a key that moves nothing
 */
export function cardAfter(key: string, at: number, count: number): number | undefined {
  if (key === 'ArrowRight' || key === 'ArrowDown') return (at + 1) % count
  if (key === 'ArrowLeft' || key === 'ArrowUp') return (at + count - 1) % count
  if (key === 'Home') return 0
  if (key === 'End') return count - 1
  return undefined
}
