import { expect, it } from 'vitest'
import { cardAfter } from '../../../../renderer/firmware/asking/card-keys.ts'

// WAI-ARIA Authoring Practices 1.2, keyboard interaction within a composite: arrows move and wrap, Home and End jump.
it.each([
  ['ArrowRight', 0, 1],
  ['ArrowRight', 4, 0],
  ['ArrowDown', 2, 3],
  ['ArrowLeft', 0, 4],
  ['ArrowUp', 3, 2],
  ['Home', 3, 0],
  ['End', 1, 4],
  ['Enter', 1, undefined],
  ['Tab', 1, undefined],
])('%s on card %i of five leads to %s', (key, at, next) => expect(cardAfter(key, at, 5)).toBe(next))
