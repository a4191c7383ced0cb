import { afterEach, describe, expect, it, onTestFinished } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { sha256Hex } from '../../shared/image/digest.ts'
import { benchImage } from '../../shared/rehearse/image.ts'
import { preflash } from '../support/cli.ts'
import { Emulating } from '../support/emulating.ts'
import { testFolder } from '../support/folder.ts'
import { needs, titled } from '../support/needs.ts'
import { soundAnswers } from '../support/sound-answers.ts'
import { writePlan } from '../support/write-plan.ts'

/** The demo's receivers with a service connector, on the command line from the wiring to the write. */

const bench = demoBench()
const WIRED = ['--adapter', 'service-adapter', '--cable', 'service-cable']

interface Gear {
  readonly receiverId: string
  readonly imageId: string
}
const plover: Gear = { receiverId: 'plover-soarer', imageId: 'plover-10-2.3.0' }
const dunlin: Gear = { receiverId: 'dunlin-ketch', imageId: 'dunlin-5-1.4.0' }

/** What all of program flash holds once the image alone is in it. */
function flashWith({ receiverId, imageId }: Gear): string {
  const unit = bench.receivers.find(r => r.id === receiverId)
  const type = bench.catalogue.receiverTypes.find(t => t.id === unit?.typeId)
  const image = type && benchImage(bench, type, imageId)
  if (!type || !image?.ok) throw new Error('the demo does not have that gear')
  const whole = new Uint8Array(type.flash.programBytes).fill(0xff)
  whole.set(image.value.payload)
  return sha256Hex(whole)
}

describe('preflash wiring at a service connector', () => {
  const wiring = async (...args: string[]) => {
    const run = await preflash('wiring', '--demo', '--receiver', 'plover-soarer', ...args, '--json')
    return { code: run.code, ...JSON.parse(run.out) }
  }

  it('is safe with its cable, and refuses wrong ones with a cure', { timeout: 120_000 }, async () => {
    const good = await wiring(...WIRED)
    expect(good).toMatchObject({ code: 0, safe: true, at: { isService: true } })
    const mixed = await wiring('--adapter', 'service-adapter', '--cable', 'service-cable-crossed')
    expect(mixed).toMatchObject({ code: 1, safe: false })
    expect(mixed.findings[0]).toMatchObject({
      code: 'transmit-to-transmit',
      cure: { label: 'Take the cable “Service cable” instead.' },
    })
    // Five volts on pins that stand 3.6.
    const five = await wiring('--adapter', 'five-volt-adapter', '--cable', 'service-cable')
    expect([five.code, five.findings[0].code, five.findings[0].volts]).toEqual([1, 'signal-over-volts', 5])
    const bus = await wiring(...WIRED, '--dialect', 'preflash-bus')
    expect(bus).toMatchObject({ code: 1, safe: false, at: { isService: false } })
  })

  it('names the dialects that there are', { timeout: 60_000 }, async () => {
    const run = await preflash('wiring', '--receiver', 'plover-soarer', ...WIRED, '--dialect', 'ymoden')
    expect([run.code, run.err]).toEqual([2, expect.stringMatching(/Did you mean ymodem/)])
  })
})

describe('preflash write at a service connector', () => {
  const args = ['write', '--port', '/dev/ttyX9', '--receiver', 'plover-soarer', '--image', plover.imageId]

  it('takes the usual dialect of the type, and refuses another', { timeout: 120_000 }, async () => {
    const usual = JSON.parse((await preflash(...args, ...WIRED, '--check', '--json')).out)
    const stateOf = (said: typeof usual, id: string) =>
      said.preconditions.find((p: { id: string }) => p.id === id)
    expect(stateOf(usual, 'dialect').holds).toBe('yes')
    expect(usual.rehearsed.sentence).toContain('ST AN3155')
    const other = await preflash(...args, ...WIRED, '--dialect', 'xmodem-1k', '--check', '--json')
    expect([other.code, stateOf(JSON.parse(other.out), 'dialect')]).toMatchObject([
      1,
      { holds: 'no', cure: expect.stringContaining('Choose “ST AN3155, UART boot ROM”') },
    ])
  })
})

describe.skipIf(needs('socat') === undefined)(
  titled('preflash emulate and preflash write, the demo at both ends', 'socat'),
  () => {
    let playing: Emulating | undefined
    afterEach(async () => {
      playing?.child.kill('SIGTERM')
      await playing?.code
    })

    it.each([
      ['st-an3155', plover, true],
      ['xmodem-crc', dunlin, false],
      ['xmodem-1k', dunlin, false],
      ['ymodem', dunlin, false],
    ] as const)('go through by %s', { timeout: 180_000 }, async (dialect, gear, canBackUp) => {
      const folder = testFolder('service-gear')
      onTestFinished(() => folder.remove())
      const { receiverId, imageId } = gear
      playing = new Emulating('--demo', '--receiver', receiverId, '--dialect', dialect, '--pace', 'none')
      const ready = await playing.first('ready')
      const image = { kind: 'bench', imageId } as const
      const plan = writePlan({
        ...{ bench, receiverId, image, dialect, adapterId: 'service-adapter', cableId: 'service-cable' },
      })
      const looked = Object.entries(soundAnswers(plan)).flatMap(([id, answer]) => [
        '--caution',
        `${id}=${answer}`,
      ])
      const run = await preflash(
        ...['write', '--demo', '--port', ready.hostPort ?? '', '--receiver', receiverId, '--image', imageId],
        ...['--dialect', dialect, ...WIRED, ...looked, '--data', folder.path, '--json'],
      )
      expect([run.code, run.err]).toEqual([0, ''])
      const end = JSON.parse(run.out)
      // None of the four can ask the receiver what it runs.
      expect(end).toMatchObject({ outcome: 'unproven', proven: false })
      expect(end.backupFile !== null).toBe(canBackUp)
      playing.child.kill('SIGTERM')
      await playing.code
      const { held } = await playing.first('end')
      // XMODEM sends whole blocks: what fills up the last one is written too.
      if (dialect === 'st-an3155' || dialect === 'ymodem') expect(held?.programSha256).toBe(flashWith(gear))
      // ST's loader leaves the record of the receiver's own boot loader alone; the program that it starts writes it.
      expect(held?.firmware).toBe(dialect === 'st-an3155' ? '2.3.0' : '1.4.0')
    })
  },
)
