import { describe, expect, it } from 'vitest'
import { isBenchFile, MAX_FILE_BYTES, readChosen } from '../../../../renderer/rehearse/setup/files.ts'

const file = (name: string, text = 'abc', size = text.length) => ({
  name,
  size,
  arrayBuffer: async () => new TextEncoder().encode(text).buffer as ArrayBuffer,
  text: async () => text,
})

describe('files that are chosen or dropped', () => {
  it('are an image, with its card where that came along', async () => {
    expect(await readChosen([file('a.hex')])).toEqual({
      fileName: 'a.hex',
      octets: Uint8Array.of(97, 98, 99),
    })
    expect(await readChosen([file('a.card.json', '{}'), file('a.bin')])).toMatchObject({
      fileName: 'a.bin',
      cardText: '{}',
    })
  })

  it.each([
    [[], 'no file'],
    [[file('a.card.json')], 'is an image card, not an image'],
    [[file('a.bin'), file('b.bin')], 'one image at a time'],
    [[file('a.bin', '')], 'is empty'],
    [[file('a.bin', 'x', MAX_FILE_BYTES + 1)], 'no receiver image is larger'],
    [[file('a.bin'), file('a.card.json', 'x', 300_000)], 'too large for an image card'],
  ])('are refused in a sentence: %#', async (files, words) => {
    expect(await readChosen(files)).toContain(words)
  })

  it('that cannot be read say so', async () => {
    const gone = { ...file('gone.bin'), arrayBuffer: () => Promise.reject(new Error('gone')) }
    expect(await readChosen([gone])).toContain('gone.bin could not be read')
  })

  it('of a bench are told from image cards', () => {
    expect(['club.json', 'a.card.json', 'a.hex'].map(name => isBenchFile({ name }))).toEqual([
      true,
      false,
      false,
    ])
  })
})
