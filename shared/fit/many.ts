import type { Finding, Rule } from './rule.ts'
import { RULES } from './rules.ts'
import type { ImageFacts, Situation } from './situation.ts'

/**
 * Asking the rules of very many images at once. A rule that looks at nothing of the image is asked once; the others
 * once for each different thing that they see, by `Rule.looksAt`.
 */
export interface Images {
  readonly facts: readonly ImageFacts[]
  /** By the fields looked at: which images are the same in them. */
  readonly sorts: ReadonlyMap<string, Sorts>
}

interface Sorts {
  /** For each image, which of `first` looks the same. */
  readonly of: Uint32Array
  readonly first: readonly ImageFacts[]
}

const fieldsKey = (rule: Rule): string => (rule.looksAt ?? []).join()

/** Lists and pairs are told apart by what is in them. */
function keyOf(facts: ImageFacts, fields: readonly (keyof ImageFacts)[]): unknown {
  const only = fields.length === 1 ? facts[fields[0]] : fields.map(field => facts[field])
  return typeof only === 'object' ? JSON.stringify(only) : only
}

function sortsOf(facts: readonly ImageFacts[], fields: readonly (keyof ImageFacts)[]): Sorts {
  const of = new Uint32Array(facts.length)
  const first: ImageFacts[] = []
  const seen = new Map<unknown, number>()
  for (let i = 0; i < facts.length; i++) {
    const key = keyOf(facts[i], fields)
    let sort = seen.get(key)
    if (sort === undefined) {
      sort = first.length
      seen.set(key, sort)
      first.push(facts[i])
    }
    of[i] = sort
  }
  return { of, first }
}

/** Sorts the images by what each rule sees of them; good for any bench, receiver and route. */
export function imagesOf(facts: readonly ImageFacts[]): Images {
  const sorts = new Map<string, Sorts>()
  for (const rule of RULES) {
    const key = fieldsKey(rule)
    if (!sorts.has(key)) sorts.set(key, sortsOf(facts, rule.looksAt ?? []))
  }
  return { facts, sorts }
}

/** What one rule finds: `of[i]` is the place of image i in `found`; nothing there where the rule does not apply. */
export interface RuleFindings {
  readonly rule: Rule
  readonly of: Uint32Array
  readonly found: readonly (Finding | undefined)[]
}

/**
 * What each of the rules finds of each of the images.
 * @param s its image is not looked at
 */
export function findingsByRule(s: Situation, images: Images, rules: readonly Rule[] = RULES): RuleFindings[] {
  if (images.facts.length === 0) return []
  return rules.map(rule => {
    const sorts = images.sorts.get(fieldsKey(rule))
    if (sorts === undefined) throw new Error(`images were not sorted for rule ${rule.id}`)
    const found = sorts.first.map(image => {
      const facing = { ...s, image }
      return rule.applies(facing) ? { rule, ...rule.check(facing) } : undefined
    })
    return { rule, of: sorts.of, found }
  })
}

/** The same as asking `findings` of each image by itself, in the same order. */
export function findingsOfAll(s: Situation, images: Images): Finding[][] {
  const byRule = findingsByRule(s, images)
  return images.facts.map((_, i) => {
    const all: Finding[] = []
    for (const { of, found } of byRule) {
      const finding = found[of[i]]
      if (finding !== undefined) all.push(finding)
    }
    return all
  })
}
