import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { EchoRemoval, type EchoTrouble, EchoWatch } from '../../main/serial/echo.ts'

function removal() {
  const troubles: EchoTrouble[] = []
  return { troubles, echo: new EchoRemoval(trouble => troubles.push(trouble)) }
}
const of = (...octets: number[]) => Uint8Array.from(octets)

describe('the removal of the echo', () => {
  it('takes out exactly what was sent, however it comes in pieces', () => {
    fc.assert(
      fc.property(
        fc.array(fc.tuple(fc.uint8Array({ maxLength: 20 }), fc.uint8Array({ maxLength: 20 })), {
          maxLength: 8,
        }),
        fc.infiniteStream(fc.integer({ min: 1, max: 7 })),
        (turns, cuts) => {
          const { echo, troubles } = removal()
          const got: number[] = []
          for (const [sent, answer] of turns) {
            echo.sent(sent)
            const onLine = [...sent, ...answer]
            while (onLine.length > 0) {
              const piece = onLine.splice(0, cuts.next().value)
              got.push(...echo.pass(Uint8Array.from(piece)))
            }
          }
          expect(got).toEqual(turns.flatMap(([, answer]) => [...answer]))
          expect(troubles).toEqual([])
        },
      ),
    )
  })

  it('lets through what comes, in its order, and never more than came, whatever it is', () => {
    const step = fc.oneof(
      fc.record({ sent: fc.uint8Array({ maxLength: 40 }) }),
      fc.record({ heard: fc.uint8Array({ maxLength: 40 }) }),
      fc.constant('over' as const),
    )
    fc.assert(
      fc.property(fc.array(step, { maxLength: 30 }), steps => {
        const { echo } = removal()
        const heard: number[] = []
        for (const one of steps) {
          if (one === 'over') {
            const left = [...echo.giveUp()]
            expect(left).toEqual(heard.slice(heard.length - left.length))
          } else if ('sent' in one) echo.sent(one.sent)
          else {
            heard.push(...one.heard)
            const left = [...echo.pass(one.heard)]
            // What was taken for the beginning of an echo comes with what shows that it was none.
            expect(left).toEqual(heard.slice(heard.length - left.length))
          }
        }
        echo.giveUp()
        expect([...echo.pass(of(1, 2, 3))]).toEqual([1, 2, 3])
      }),
      { numRuns: 500 },
    )
  })

  it('says once that what was sent came back changed, and still takes it out', () => {
    const { echo, troubles } = removal()
    echo.sent(of(1, 2, 3, 4))
    expect([...echo.pass(of(1, 9, 3, 4, 7))]).toEqual([7])
    expect(troubles).toEqual(['changed'])
  })

  it('leaves an answer alone on a line that has no echo, and says so', () => {
    const { echo, troubles } = removal()
    echo.sent(of(0x7f))
    expect([...echo.pass(of(0x79))]).toEqual([0x79])
    expect(troubles).toEqual(['no-echo'])
  })

  it('gives an answer whole that begins as the question did, as frames do', () => {
    const { echo, troubles } = removal()
    echo.sent(of(0x7e, 1, 2, 3, 4, 0x7e))
    expect([...echo.pass(of(0x7e, 1))]).toEqual([])
    expect([...echo.pass(of(0x82, 9, 9, 0x7e))]).toEqual([0x7e, 1, 0x82, 9, 9, 0x7e])
    expect(troubles).toEqual(['no-echo'])
    expect(echo.found).toBe('answers-only')
    // From then on it is not waited for so long.
    echo.sent(of(0x7e, 1, 2, 3, 4, 0x7e))
    expect([...echo.pass(of(0x7e, 1, 0x82))]).toEqual([0x7e, 1, 0x82])
  })

  it('gives an answer that is shorter than the question when the time is over', () => {
    const { echo } = removal()
    echo.sent(of(0x7e, 1, 2, 3, 4, 5, 6, 0x7e))
    expect([...echo.pass(of(0x7e, 0x82, 9, 0x7e))]).toEqual([])
    expect([...echo.giveUp()]).toEqual([0x7e, 0x82, 9, 0x7e])
    expect(echo.found).toBe('answers-only')
  })

  it('knows what has become of what was sent', () => {
    const { echo } = removal()
    expect(echo.found).toBe('not-known')
    echo.sent(of(1, 2))
    echo.giveUp()
    expect(echo.found).toBe('silence')
    echo.sent(of(1, 2))
    echo.pass(of(7))
    expect(echo.found).toBe('answers-only')
    echo.sent(of(1, 2))
    echo.pass(of(1, 2))
    expect(echo.found).toBe('came-back')
  })

  it('says that nothing came back when the time is over', () => {
    const { echo, troubles } = removal()
    echo.sent(of(1, 2))
    echo.giveUp()
    echo.giveUp()
    expect(troubles).toEqual(['missing'])
    expect([...echo.pass(of(5))]).toEqual([5])
  })

  it('says otherwise where it had come back before', () => {
    const { echo, troubles } = removal()
    echo.sent(of(1, 2))
    echo.pass(of(1, 2))
    echo.sent(of(3, 4))
    echo.giveUp()
    expect(troubles).toEqual(['missing-now'])
  })

  it('does not await more and more', () => {
    const { echo, troubles } = removal()
    for (let i = 0; i < 100; i++) echo.sent(new Uint8Array(1024))
    expect(troubles).toEqual(['missing'])
  })
})

describe('a line that should have no echo', () => {
  it('is found out when what was sent comes back twice', () => {
    const watch = new EchoWatch()
    for (let i = 0; i < 2; i++) {
      expect(watch.found).toBe('not-known')
      watch.sent(of(1, 2, 3))
      watch.heard(of(1))
      watch.heard(of(2, 3, 0x79))
    }
    expect(watch.found).toBe('came-back')
  })

  it('is what it should be where answers come, also such as begin as the question did', () => {
    const watch = new EchoWatch()
    for (let i = 0; i < 40; i++) {
      watch.sent(of(0x7e, 1, 2))
      watch.heard(of(0x7e, 1, 0x82))
    }
    expect(watch.found).toBe('answers-only')
  })

  it('is not talked of where nothing comes', () => {
    const watch = new EchoWatch()
    for (let i = 0; i < 40; i++) watch.sent(of(1))
    expect(watch.found).toBe('not-known')
  })
})
