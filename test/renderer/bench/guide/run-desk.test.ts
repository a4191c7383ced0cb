import { describe, expect, it } from 'vitest'
import { adviceOf, askedOf } from '../../../../renderer/bench/guide/hand-over.ts'
import { liveWords, RunDesk } from '../../../../renderer/bench/guide/run-desk.ts'
import { freshAsked, type KeptDiagnosis } from '../../../../renderer/diagnose/use-diagnosis.ts'
import type { Find } from '../../../../renderer/diagnose/use-find.ts'
import type { OpenRun } from '../../../../shared/api/guide.ts'
import type { RunAnswer } from '../../../../shared/runbook/state.ts'
import { Run, runbookOf } from '../../../runbook/fixture.ts'
import { smallRequest } from '../../../support/small-bench.ts'

const runbook = runbookOf(smallRequest())

/** The machine's side, which keeps what it is told, and can be out of reach for a while. */
class Machine {
  readonly kept: RunAnswer[] = []
  readonly calls: string[] = []
  readonly finds: Find[] = []
  isGone = false
  open: OpenRun | null = null
  async call(method: string, request: { from?: number; answers?: readonly RunAnswer[] } | Find) {
    this.calls.push(method)
    await Promise.resolve()
    if (this.isGone) throw new Error('not there')
    if (method === 'guide.begin') return { id: 'run', beganAtMs: 1000 }
    if (method === 'guide.open') return { run: this.open }
    if ('finding' in request) {
      this.finds.push(request)
      return { session: 'find' }
    }
    if (method === 'guide.append') {
      const { from = 0, answers = [] } = request
      expect(from).toBe(this.kept.length)
      this.kept.push(...answers)
      return { count: this.kept.length }
    }
    return { receiver: 'runs-new', isChecked: true }
  }
}

function desk(machine = new Machine()) {
  let clock = 1000
  const client = machine as unknown as ConstructorParameters<typeof RunDesk>[0]
  return { machine, desk: new RunDesk(client, () => (clock += 1000)) }
}
const settled = () => new Promise(resolve => setTimeout(resolve, 5))
const at = (of: RunDesk) => of.get().run?.state

describe('the run of a window', () => {
  it('is not begun where it cannot be written down', async () => {
    const { machine, desk: one } = desk()
    machine.isGone = true
    await expect(one.begin(runbook, 'Bench')).rejects.toThrow('not there')
    expect(one.get().run).toBeUndefined()
  })

  it('goes on at once, and writes down in order what was said', async () => {
    const { machine, desk: one } = desk()
    await one.begin(runbook, 'Bench')
    for (const said of ['saw', 'unsure', 'saw', 'back'] as const) one.say({ said })
    expect(at(one)?.step.id).toBe('radio-charged')
    await settled()
    expect(machine.kept.map(a => `${a.step} ${a.said}`)).toEqual([
      'drive saw',
      'radio-charged unsure',
      'radio-charged saw',
      'supply back',
    ])
    expect(machine.kept.every((a, i) => i === 0 || a.atMs > machine.kept[i - 1].atMs)).toBe(true)
  })

  it('goes on without the logbook, says so, and writes what is missing down later', async () => {
    const { machine, desk: one } = desk()
    await one.begin(runbook, 'Bench')
    machine.isGone = true
    one.say({ said: 'saw' })
    one.say({ said: 'saw' })
    await settled()
    expect(at(one)?.step.id).toBe('supply')
    expect(one.get().problems).toHaveLength(1)
    machine.isGone = false
    one.sendAgain()
    await settled()
    expect(machine.kept).toHaveLength(2)
    expect(one.get().problems).toEqual([])
  })

  it('is ended in the logbook once, when its answers have ended it, and then makes room', async () => {
    const { machine, desk: one } = desk()
    await one.begin(runbook, 'Bench')
    one.close()
    expect(one.get().run).toBeDefined()
    while (at(one)?.at !== 'ended') one.say({ said: 'saw' })
    await settled()
    expect(machine.calls.at(-1)).toBe('guide.end')
    expect(machine.calls.filter(call => call === 'guide.end')).toHaveLength(1)
    one.close()
    expect(one.get().run).toBeUndefined()
  })

  it('finds a run that was left, and goes on with it or ends it', async () => {
    const left: OpenRun = {
      id: 'run',
      beganAtMs: 0,
      benchName: null,
      runbook,
      answers: new Run(runbook).sawUntil('watch').answers,
    }
    const { machine, desk: one } = desk()
    machine.open = left
    machine.kept.push(...left.answers)
    await one.look()
    expect(one.get().run).toBeUndefined()
    expect(one.get().left?.state.step.id).toBe('watch')
    one.takeUp()
    await settled()
    expect(at(one)).toMatchObject({ at: 'step', step: { id: 'watch' } })
    expect(machine.kept.at(-1)?.said).toBe('resume')

    const other = desk()
    other.machine.open = left
    other.machine.kept.push(...left.answers)
    await other.desk.look()
    other.desk.stopLeft()
    await settled()
    expect(at(other.desk)?.at).toBe('stopped')
    expect(other.machine.kept.at(-1)?.said).toBe('stop')
    expect(other.machine.calls).not.toContain('guide.end')
    expect(liveWords(other.desk.get())).toMatch(/may still be writing/)
    other.desk.say({ said: 'end' })
    await settled()
    expect(at(other.desk)?.at).toBe('ended')
    expect(other.machine.calls).toContain('guide.end')
    expect(liveWords(other.desk.get())).toBeUndefined()
  })

  it('is live while the radio writes, and at no other time', async () => {
    const { desk: one } = desk()
    await one.begin(runbook, 'Bench')
    const live: string[] = []
    while (at(one)?.at !== 'ended') {
      if (liveWords(one.get()) !== undefined) live.push(at(one)?.step.id ?? '')
      one.say({ said: 'saw' })
    }
    expect(live).toEqual(['start', 'watch'])
    expect(liveWords(one.get())).toBeUndefined()
  })
})

describe('the band at the top', () => {
  it('stays while the radio may still write to a receiver that has gone dark, and goes where it has stopped', async () => {
    for (const [seen, isLive] of [
      [/gone dark/, true],
      [/refused before/, false],
    ] as const) {
      const { desk: one } = desk()
      await one.begin(runbook, 'Bench')
      while (at(one)?.step.id !== 'watch') one.say({ said: 'saw' })
      const others = at(one)?.step.others ?? []
      one.say({ said: 'other', other: others.findIndex(({ text }) => seen.test(text)) })
      expect(at(one)?.at).toBe('trouble')
      expect(liveWords(one.get()) !== undefined).toBe(isLive)
    }
  })
})

describe('what a run hands over to the diagnosis', () => {
  const atMs = 5000
  const facts = { 'card-seen': { answer: 'yes', atMs }, 'light-stays': { answer: 'no', atMs } } as const

  it('is receiver, route, image, symptom and facts', () => {
    expect(askedOf(runbook, 'dead', facts, undefined)).toEqual({
      ...freshAsked('wren-trainer'),
      symptom: 'dead',
      route: 'cable',
      imageId: 'wren-6-2.4.0',
      answers: { 'card-seen': 'yes', 'light-stays': 'no' },
      lookedAtMs: { 'card-seen': atMs, 'light-stays': atMs },
    })
  })

  it('goes on with what was begun about the same trouble; anything else begins anew', () => {
    const before = {
      ...askedOf(runbook, 'dead', {}, undefined),
      answers: { 'light-stays': 'yes', 'volts-hold': 'no' } as const,
      lookedAtMs: { 'light-stays': atMs + 1, 'volts-hold': atMs + 1 },
      tried: [{ ids: ['x'], label: 'X' }],
    }
    const again = askedOf(runbook, 'dead', facts, before)
    expect(again.answers).toEqual({ 'card-seen': 'yes', 'light-stays': 'yes', 'volts-hold': 'no' })
    expect(again.tried).toHaveLength(1)
    // Seen otherwise in the run after that, it is the run that knows.
    const later = { 'light-stays': { answer: 'no', atMs: atMs + 2 } } as const
    expect(askedOf(runbook, 'dead', later, before).answers).toEqual({
      'light-stays': 'no',
      'volts-hold': 'no',
    })
    expect(askedOf(runbook, 'stops', facts, before).tried).toEqual([])
    expect(askedOf(runbook, 'dead', facts, { ...before, receiverId: 'another' }).tried).toEqual([])
  })
})

describe('a repair that Diagnose advised', () => {
  const advice = {
    ...{ causes: ['image-wrong-type'], isOneOf: false },
    ...{ answers: { 'image-type': 'no' as const }, tried: ['slow-settle'] },
  }
  /** Refused at the first write, put right, and written. */
  async function putRight(machine = new Machine(), given: typeof advice | null = advice) {
    const made = desk(machine)
    await made.desk.begin(runbook, 'My bench')
    while (at(made.desk)?.step.id !== 'watch') made.desk.say({ said: 'saw' })
    const refused = at(made.desk)?.step.others.findIndex(one => /was refused/.test(one.text)) ?? -1
    made.desk.say({ said: 'other', other: refused })
    made.desk.say({ said: 'diagnose' })
    made.desk.again(given ?? undefined)
    made.desk.say({ said: 'saw' })
    expect(made.desk.get().repair).toBeUndefined()
    made.desk.say({ said: 'saw' })
    return made
  }

  it('is asked about, and is a find by the person’s word, with all that was said', async () => {
    const { machine, desk: one } = await putRight()
    expect(one.get().repair).toMatchObject({ symptom: 'write-refused', causes: ['image-wrong-type'] })
    await one.settle(true)
    await settled()
    expect(machine.finds).toMatchObject([
      {
        ...{ receiverId: 'wren-trainer', typeId: 'aldwick-wren-6', benchName: 'My bench' },
        finding: {
          ...{ symptom: 'write-refused', route: 'cable', causes: ['image-wrong-type'], isOneOf: false },
          ...{ answers: { 'image-type': 'no', 'receiver-named': 'yes' }, tried: ['slow-settle'] },
        },
      },
    ])
    expect(machine.kept.map(a => a.said).slice(-1)).toEqual(['helped'])
    expect(machine.kept).toContainEqual(
      expect.objectContaining({ said: 'again', repaired: ['image-wrong-type'] }),
    )
    expect(one.get()).toMatchObject({ repair: undefined, found: machine.finds[0] })
    one.say({ said: 'saw' })
    expect(one.get().found).toBeUndefined()
  })

  it('is asked about where the reason was looked for before any trouble was said', async () => {
    const { desk: one, machine } = desk()
    await one.begin(runbook, 'My bench')
    while (at(one)?.step.id !== 'watch') one.saw()
    one.say({ said: 'diagnose' })
    one.saw(advice)
    expect(one.get().repair).toMatchObject({ causes: ['image-wrong-type'] })
    await settled()
    expect(machine.kept.at(-1)).toMatchObject({ said: 'saw', repaired: ['image-wrong-type'] })
    await one.settle(true)
    await settled()
    expect(machine.finds).toMatchObject([
      { finding: { causes: ['image-wrong-type'], tried: ['slow-settle'] } },
    ])
  })

  it('is no find where it was something else', async () => {
    const { machine, desk: one } = await putRight()
    await one.settle(false)
    await settled()
    expect(machine.finds).toEqual([])
    expect(machine.kept.at(-1)?.said).toBe('not-that')
    expect(one.get().repair).toBeUndefined()
  })

  it('can be said again where it could not be written, and is the same find then', async () => {
    const { machine, desk: one } = await putRight()
    await settled()
    machine.isGone = true
    await one.settle(true)
    expect(one.get().problems).toHaveLength(1)
    expect(one.get().repair).toBeDefined()
    machine.isGone = false
    await one.settle(true)
    await settled()
    expect(machine.finds).toHaveLength(1)
    expect(machine.kept.at(-1)?.said).toBe('helped')
  })

  it('can be settled once the run has ended, once', async () => {
    const { machine, desk: one } = await putRight()
    while (at(one)?.at !== 'ended') one.say({ said: 'saw' })
    await settled()
    expect(one.get()).toMatchObject({ isOver: true, repair: { causes: ['image-wrong-type'] } })
    await one.settle(true)
    expect(one.get().repair).toBeUndefined()
    await one.settle(true)
    expect(machine.finds).toHaveLength(1)
    one.close()
    expect(one.get()).toMatchObject({ run: undefined, isOver: false, found: undefined })
  })

  it('is not asked about where Diagnose had advised nothing', async () => {
    const { desk: one } = await putRight(new Machine(), null)
    expect(one.get().repair).toBeUndefined()
  })

  it('is that of Diagnose for this very trouble alone', () => {
    const next = { do: 'repair', members: ['a', 'b'], label: 'Do it.', minutes: 1, why: '' } as const
    const asked = { ...freshAsked('wren-trainer'), symptom: 'write-refused' as const }
    const kept = (change: object, diagnosis: object = { next, causes: [] }) =>
      ({ asked: { ...asked, ...change }, diagnosis }) as KeptDiagnosis['current']
    expect(adviceOf(kept({}), 'wren-trainer', 'write-refused')).toEqual({
      ...{ causes: ['a', 'b'], isOneOf: true, answers: {}, tried: [] },
    })
    for (const other of [
      undefined,
      kept({ receiverId: 'heron' }),
      kept({ symptom: 'stops' }),
      kept({ helped: {} }),
      kept({}, { next: { do: 'ask', why: '' }, causes: [] }),
    ])
      expect(adviceOf(other, 'wren-trainer', 'write-refused')).toBeUndefined()
  })
})
