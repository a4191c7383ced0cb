import { describe, expect, it } from 'vitest'
import { PortWatch } from '../../main/serial/watch-ports.ts'

describe('the watch over ports', () => {
  it('tells when something is new, and not when it looks for the first time or cannot', async () => {
    let there = 'ttyUSB0'
    let told = 0
    const watch = new PortWatch(
      () => told++,
      async () => {
        if (there === 'broken') throw new Error('cannot look')
        return there
      },
    )
    await watch.look()
    await watch.look()
    expect(told).toBe(0)
    there = 'ttyUSB0,ttyUSB1'
    await watch.look()
    expect(told).toBe(1)
    there = 'broken'
    await watch.look()
    there = 'ttyUSB0,ttyUSB1'
    await watch.look()
    expect(told).toBe(1)
  })

  it('looks again and again once it is started, and stops', async () => {
    let looks = 0
    const twice = new Promise<void>(resolve => {
      const watch = new PortWatch(
        () => {},
        async () => {
          if (++looks === 3) {
            watch.stop()
            resolve()
          }
          return String(looks)
        },
        1,
      )
      watch.start()
      watch.start()
    })
    await twice
    await new Promise(resolve => setTimeout(resolve, 20))
    expect(looks).toBe(3)
  })

  it('looks at this machine without a fault', async () => {
    let told = 0
    const watch = new PortWatch(() => told++)
    await watch.look()
    expect(told).toBe(0)
  })
})
