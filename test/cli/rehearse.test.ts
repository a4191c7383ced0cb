import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, describe, expect, it } from 'vitest'
import { demoBench, demoDefaults } from '../../shared/demo/bench.ts'
import { writeIntelHex } from '../../shared/image/write-intel-hex.ts'
import { writeBench } from '../../shared/model/bench.ts'
import { rehearsalReportSchema } from '../../shared/rehearse/report.ts'
import { FAULT_NAMES } from '../../shared/sim/faults.ts'
import { preflash } from '../support/cli.ts'

const folder = mkdtempSync(join(tmpdir(), 'preflash-cli-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))
const file = (name: string, content: string | Uint8Array) => {
  const path = join(folder, name)
  writeFileSync(path, content)
  return path
}

describe('preflash rehearse', () => {
  it('has a default for everything, and says that it is a rehearsal', async () => {
    const run = await preflash('rehearse')
    expect(run.code).toBe(0)
    expect(run.out).toMatch(/^REHEARSAL, simulated devices only/)
    expect(run.out).toContain('Outcome: updated')
    expect(run.out).toContain('No flight before failsafe and range check')
    expect(run.err).toBe('')
  })

  it('prints a report that the contract would accept', async () => {
    const run = await preflash('rehearse', '--demo', '--route', 'wireless', '--seed', '7', '--json')
    const report = rehearsalReportSchema.parse(JSON.parse(run.out))
    expect(report).toMatchObject({
      outcome: 'updated',
      route: 'wireless',
      seed: 7,
      retries: 0,
      recovery: null,
    })
    expect(report.receiver.id).toBe(demoDefaults.receiverId)
    expect(report.receiver.programBytes).toBe(512 * 1024)
    expect(report.events.length).toBeGreaterThan(10)
    expect(report.simulatedMs).toBeGreaterThan(10_000)
    expect(report.wallMs).toBeGreaterThan(0)
  })

  it('ends with 1 when the receiver does not run the new image, and gives a recovery that worked', async () => {
    const run = await preflash('rehearse', '--fault', 'power-cut=25', '--json')
    expect(run.code).toBe(1)
    const report = rehearsalReportSchema.parse(JSON.parse(run.out))
    expect(report.outcome).toBe('needs-cable')
    expect(report.recovery?.rehearsed.outcome).toBe('updated')
    expect(report.recovery?.steps.length).toBeGreaterThan(2)
  })

  it('gives the same trace for the same seed, to the octet, and another for another', async () => {
    const paths = ['a', 'b', 'c'].map(name => join(folder, `${name}.trace`))
    await Promise.all(
      paths.map((path, i) =>
        preflash('rehearse', '--fault', 'line-noise', '--seed', i === 2 ? '9' : '8', '--trace', path),
      ),
    )
    const [a, b, c] = paths.map(path => readFileSync(path))
    expect(a.length).toBeGreaterThan(1_000_000)
    expect(a.equals(b)).toBe(true)
    expect(a.equals(c)).toBe(false)
    expect(JSON.parse(a.toString('utf8').split('\n')[0])).toMatchObject({ preflashTrace: 1, simulated: true })
  })

  it('lists receivers, images and every fault', async () => {
    const run = await preflash('rehearse', '--list', '--json')
    expect(run.code).toBe(0)
    const list = JSON.parse(run.out)
    expect(list.faults.map((f: { name: string }) => f.name)).toEqual([...FAULT_NAMES])
    expect(list.receivers).toHaveLength(demoBench().receivers.length)
    expect(list.images).toHaveLength(demoBench().images.length)
    expect((await preflash('rehearse', '--list')).out).toContain('chatty-sensor')
  })

  it('takes a bench file, another receiver, and an image file that it was told about', async () => {
    const bench = file('mine.json', writeBench({ ...demoBench(), name: 'Mine' }))
    const octets = Uint8Array.from({ length: 5000 }, (_, i) => (i * 7 + 3) & 0xff)
    const image = file('image.hex', writeIntelHex([{ address: 0x0800_4000, octets }]))
    const flash = join(folder, 'flash.bin')
    const run = await preflash(
      ...['rehearse', '--bench', bench, '--receiver', 'curlew-survey', '--image', image],
      ...['--declare', 'type=tamsin-curlew-12,version=3.1.0', '--flash', flash, '--json'],
    )
    expect(run.err).toBe('')
    expect(run.code).toBe(0)
    expect(JSON.parse(run.out).receiver.firmwareAfter).toBe('3.1.0')
    const held = readFileSync(flash)
    expect(held.length).toBe(256 * 1024)
    expect(held.subarray(0, 5000).equals(octets)).toBe(true)
    expect(held.subarray(5000).every(octet => octet === 0xff)).toBe(true)
  })

  const damagedBench = () =>
    file('damaged.json', writeBench(demoBench()).replace('"batteryVolts": 7.9', '"batteryVolts": "full"'))
  const cases: [string, () => string[], RegExp][] = [
    [
      'a file that is not there',
      () => ['--image', '/nowhere/x.hex'],
      /\/nowhere\/x\.hex: The file cannot be read: there is no such file/,
    ],
    ['an empty image', () => ['--image', file('empty.hex', '')], /empty\.hex/],
    [
      'a HEX line with a wrong checksum',
      () => ['--image', file('bad.hex', ':0100000001FF\n:00000001FF\n')],
      /bad\.hex, line 1/,
    ],
    [
      'a bench whose field is wrong',
      () => ['--bench', damagedBench()],
      /damaged\.json, line \d+, radios\[0\]\.batteryVolts/,
    ],
    ['a bench that is not JSON', () => ['--bench', file('not.json', '{\n"a": 1,,\n}')], /not\.json, line 2/],
    [
      'a receiver that is not there',
      () => ['--receiver', 'nobody'],
      /receiver: There is no receiver called "nobody"/,
    ],
    ['a fault that does not exist', () => ['--fault', 'gremlins'], /There is no fault called "gremlins"/],
    ['a fault with a wrong value', () => ['--fault', 'power-cut=soon'], /fault power-cut: "soon"/],
    ['a route that does not exist', () => ['--route', 'pigeon'], /cable or wireless/],
    ['a seed that is none', () => ['--seed', '-1'], /--seed/],
    [
      'a declaration that is none',
      () => ['--image', file('r.bin', new Uint8Array(64)), '--declare', 'version=new'],
      /--declare/,
    ],
    ['an option that does not exist', () => ['--sideways'], /sideways/],
    ['a trace that cannot be written', () => ['--trace', '/nowhere/t'], /--trace/],
  ]
  for (const [what, args, expected] of cases)
    it(`ends with 2 and says what to do for ${what}`, async () => {
      const run = await preflash('rehearse', ...args())
      expect(run.err).toMatch(expected)
      expect(run.err).not.toContain('    at ')
      expect(run.code).toBe(2)
    })
})
