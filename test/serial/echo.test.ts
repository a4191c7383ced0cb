import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { EchoRemoval, type EchoTrouble } from '../../main/serial/echo.ts'

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
        for (const one of steps) {
          if (one === 'over') echo.giveUp()
          else if ('sent' in one) echo.sent(one.sent)
          else {
            const left = [...echo.pass(one.heard)]
            // Only the beginning of a piece can be echo.
            expect(left).toEqual([...one.heard.subarray(one.heard.length - left.length)])
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
    expect([...echo.pass(of(1, 9, 9, 4, 7))]).toEqual([7])
    expect(troubles).toEqual(['changed'])
  })

  it('leaves an answer alone on a line that has no echo, and says so', () => {
    const { echo, troubles } = removal()
    echo.sent(of(0x7f))
    expect([...echo.pass(of(0x79))]).toEqual([0x79])
    expect(troubles).toEqual(['missing'])
  })

  it('says that nothing came back when the time is over', () => {
    const { echo, troubles } = removal()
    echo.sent(of(1, 2))
    echo.giveUp()
    echo.giveUp()
    expect(troubles).toEqual(['missing'])
    expect([...echo.pass(of(5))]).toEqual([5])
  })

  it('does not await more and more', () => {
    const { echo, troubles } = removal()
    for (let i = 0; i < 100; i++) echo.sent(new Uint8Array(1024))
    expect(troubles).toEqual(['missing'])
  })
})
