import type { Check, Rule } from './rule.ts'
import type { ImageFacts, Situation } from './situation.ts'

export type WithImage = Situation & { readonly image: ImageFacts }
const hasImage = (s: Situation): s is WithImage => s.image !== undefined

/** A rule that applies whenever an image has been chosen, or in fewer cases. */
export function imageRule(
  rule: Omit<Rule, 'applies' | 'check' | 'looksAt'> & {
    looksAt: readonly (keyof ImageFacts)[]
    applies?: (s: WithImage) => boolean
    check: (s: WithImage) => Check
  },
): Rule {
  const { applies, check } = rule
  return {
    ...rule,
    applies: s => hasImage(s) && (applies?.(s) ?? true),
    check: s => {
      if (!hasImage(s)) throw new Error(`rule ${rule.id} was asked without an image`)
      return check(s)
    },
  }
}
