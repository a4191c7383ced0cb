import { describe, expect, it } from 'vitest'
import { Announcer } from '../../shared/bench-run/announcer.ts'
import { DeviceFarEnd } from '../../shared/bench-run/device-far-end.ts'
import { directRecovery } from '../../shared/bench-run/direct-recovery.ts'
import { type DirectPlan, directWrite } from '../../shared/bench-run/ready.ts'
import { MemoryStore } from '../../shared/bench-run/store.ts'
import { VirtualHost } from '../../shared/bench-run/virtual-host.ts'
import { builtInDialects, demoDialects } from '../../shared/dialect/built-in/all.ts'
import { DialectDevice } from '../../shared/dialect/device.ts'
import { DeviceMemory } from '../../shared/dialect/device-memory.ts'
import type { Dialect } from '../../shared/dialect/schema.ts'
import type { LogEvent } from '../../shared/logbook/event.ts'

const dialects = new Map([...builtInDialects(), ...demoDialects()])
const octets = Uint8Array.from({ length: 3000 }, (_, i) => (i * 31 + (i >> 8) * 7) & 0xff)

function directPlan(name: string, change: Partial<DirectPlan> = {}): DirectPlan {
  const dialect = dialects.get(name) as Dialect
  return {
    dialect,
    baud: undefined,
    image: { octets, name: 'other.bin', address: 0x0800_0000, version: null },
    pages: dialect.erase?.per === 'pages' ? [0, 1, 2] : [],
    echo: undefined,
    backup: undefined,
    expect: {},
    ...change,
  }
}

/** What a write has committed that was cut before so many octets were sent; all of it where they are not reached. */
function logUpTo(direct: DirectPlan, sends: number): LogEvent[] {
  const ready = directWrite(direct)
  const announcer = new Announcer({
    imageOctets: octets.length,
    beginChanges: direct.dialect.erase === undefined,
  })
  const log: LogEvent[] = []
  const memory = new DeviceMemory({ octets: 8192, base: 0x0800_0000 })
  const line = { baud: 115_200, parity: 'none', stopBits: 1 } as const
  const far = new DeviceFarEnd(new DialectDevice({ dialect: direct.dialect, memory }), line)
  const files = new MemoryStore()
  let sent = 0
  new VirtualHost(far, {
    store: request => files.ask(request),
    stopBefore: (effect, index) => {
      log.push(...announcer.before(effect, index))
      return effect.do === 'send' && ++sent > sends
    },
  }).run(ready.procedure())
  return log
}

describe('the recovery of a device on no bench', () => {
  it.each([...dialects.keys()].flatMap(name => [0, 1, 4, 12, 1000].map(sends => [name, sends] as const)))(
    'is rehearsed on a device of the dialect alone: %s, cut before send %d',
    (name, sends) => {
      const direct = directPlan(name)
      const log = logUpTo(direct, sends)
      const { steps, rehearsed } = directRecovery(direct, log)
      expect(rehearsed).toMatchObject({ ok: true, text: '' })
      expect(rehearsed.simulatedMs).toBeGreaterThan(100)
      expect(steps.map(s => s.text).join(' ')).toMatch(/switch the device off.*Write other\.bin again/i)
      expect(steps[0].caution).toMatch(/Propeller off/)
    },
  )

  it('says so where the write would not go through', () => {
    const direct = directPlan('st-an3155', { pages: [0xffff] })
    const hopeless = { ...direct, dialect: { ...direct.dialect, write: { ...direct.dialect.write } } }
    hopeless.dialect.write.block = [{ do: 'fail', text: 'it cannot be written' }]
    const { rehearsed } = directRecovery(hopeless, [])
    expect(rehearsed).toMatchObject({ ok: false, text: 'It cannot be written.' })
  })

  it('knows what the session left', () => {
    const direct = directPlan('xmodem-crc')
    expect(directRecovery(direct, []).known.state).toBe('as-before')
    expect(directRecovery(direct, logUpTo(direct, 8)).known.state).toBe('not-known')
  })
})
