import type { Bench } from '../model/bench.ts'
import type { Route } from '../model/units.ts'
import type { EnforcedBy, Finding, Rule } from './rule.ts'
import { benchRules } from './rules-bench.ts'
import { imageRules } from './rules-image.ts'
import { linkRules } from './rules-link.ts'
import { afterRules } from './rules-others.ts'
import { signatureRules } from './rules-signature.ts'
import { stepRules } from './rules-step.ts'
import { type ImageFacts, type Situation, situationOf } from './situation.ts'

/** All rules, in the order in which an update runs into them. */
export const RULES: readonly Rule[] = [
  ...benchRules,
  ...linkRules,
  ...imageRules,
  ...signatureRules,
  ...stepRules,
  ...afterRules,
]

export const ruleById = (id: string): Rule | undefined => RULES.find(rule => rule.id === id)

/** Every rule that applies, with what was found. */
export const findings = (s: Situation): Finding[] =>
  RULES.filter(rule => rule.applies(s)).map(rule => ({ rule, ...rule.check(s) }))

/**
 * Does this fit together?
 * @param image leave out to ask about the gear alone
 * @returns undefined when the receiver is not on the bench
 */
export function checkFit(
  bench: Bench,
  receiverId: string,
  route: Route,
  image?: ImageFacts,
): Finding[] | undefined {
  const s = situationOf(bench, receiverId, route, image)
  return s && findings(s)
}

/**
 * The first broken rule that this device stands by. What is not known does not make a simulated device refuse: it
 * would know itself, only we do not.
 */
export const firstBroken = (s: Situation, enforcedBy: EnforcedBy): Finding | undefined => {
  for (const rule of RULES) {
    if (rule.enforcedBy !== enforcedBy || rule.severity !== 'block' || !rule.applies(s)) continue
    const check = rule.check(s)
    if (check.holds === 'no') return { rule, ...check }
  }
  return undefined
}
