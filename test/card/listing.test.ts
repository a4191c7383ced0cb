import { describe, expect, it } from 'vitest'
import { volumeLister } from '../../main/card/listing.ts'
import type { Volume } from '../../main/card/volume.ts'
import { cardVolume } from '../support/card-host.ts'

describe('the list of volumes, asked for again and again', () => {
  it('is looked up once for all who wait for it, and anew afterwards', async () => {
    let looks = 0
    const answers: ((volumes: readonly Volume[]) => void)[] = []
    const list = volumeLister({
      volumes: () => {
        looks++
        return new Promise(resolve => answers.push(resolve))
      },
    })
    const asked = [list(), list(), list()]
    answers[0]([cardVolume('/a')])
    for (const volumes of await Promise.all(asked)) expect(volumes).toMatchObject([{ path: '/a' }])
    expect(looks).toBe(1)
    const again = list()
    answers[1]([])
    expect(await again).toEqual([])
  })

  it('says so when a volume does not answer, and does not begin another look beside the one that hangs', async () => {
    let looks = 0
    const list = volumeLister({
      volumes: () => {
        looks++
        return new Promise(() => {})
      },
      timeoutMs: 5,
    })
    for (let i = 0; i < 3; i++)
      await expect(list()).rejects.toMatchObject({ problem: { code: 'volume.slow' } })
    expect(looks).toBe(1)
  })

  it('says so when the system tells nothing, and asks it anew the next time', async () => {
    let works = false
    const list = volumeLister({
      volumes: async () => {
        if (!works) throw new Error('no such command')
        return []
      },
    })
    await expect(list()).rejects.toMatchObject({ problem: { code: 'volume.list' } })
    works = true
    expect(await list()).toEqual([])
  })
})
