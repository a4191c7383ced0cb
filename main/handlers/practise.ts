import type { AppContract } from '../../shared/api/contract.ts'
import type { Handlers } from '../../shared/api/define.ts'
import type { practiseMethods } from '../../shared/api/practise.ts'
import { need } from '../../shared/api/serve.ts'
import type { Simulate } from '../work/simulate.ts'

/** `practise.run`: an exercise as it stands. */
export function practiseHandlers(
  simulate: Simulate,
): Pick<Handlers<AppContract>, keyof typeof practiseMethods> {
  return { 'practise.run': async request => need(await simulate('practise', request)) }
}
