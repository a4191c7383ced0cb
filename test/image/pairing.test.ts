import { describe, expect, it } from 'vitest'
import { pairFiles } from '../../shared/image/pairing.ts'

const pair = (...names: string[]) => {
  const { images, strays } = pairFiles(names.map(name => ({ name })))
  return {
    images: images.map(({ file, card }) => [file.name, card?.name]),
    strays: strays.map(({ file }) => file.name),
    why: strays.map(({ why }) => why),
  }
}

describe('files and their image cards', () => {
  it.each(['wren.hex.card.json', 'wren.card.json', 'wren.hex.json', 'wren.json', 'WREN.Hex.Card.JSON'])(
    'come together by name: wren.hex with %s',
    card => {
      expect(pair('wren.hex', card)).toMatchObject({ images: [['wren.hex', card]], strays: [] })
    },
  )

  it('are told apart where one name is the start of another', () => {
    expect(
      pair('wren-2.4.0.hex', 'wren-2.4.1.hex', 'wren-2.4.1.card.json', 'wren-2.4.0.card.json').images,
    ).toEqual([
      ['wren-2.4.0.hex', 'wren-2.4.0.card.json'],
      ['wren-2.4.1.hex', 'wren-2.4.1.card.json'],
    ])
  })

  it('prefer the card that carries the whole name', () => {
    expect(pair('wren.hex', 'wren.bin', 'wren.bin.card.json', 'wren.hex.card.json').images).toEqual([
      ['wren.hex', 'wren.hex.card.json'],
      ['wren.bin', 'wren.bin.card.json'],
    ])
  })

  it('are not guessed at: a card that could be for two images is for none', () => {
    const { images, strays, why } = pair('wren.hex', 'wren.bin', 'wren.card.json')
    expect(images).toEqual([
      ['wren.hex', undefined],
      ['wren.bin', undefined],
    ])
    expect(strays).toEqual(['wren.card.json'])
    expect(why[0]).toContain('wren.hex or wren.bin')
  })

  it('say what to do with a card that came alone, and with a second one', () => {
    expect(pair('heron.card.json').why[0]).toContain('Choose both together')
    expect(pair('wren.hex', 'wren.card.json', 'wren.json')).toMatchObject({
      images: [['wren.hex', 'wren.card.json']],
      strays: ['wren.json'],
    })
  })

  it('come together within one folder only', () => {
    expect(pair('a/wren.hex', 'b/wren.hex', 'b/wren.card.json')).toMatchObject({
      images: [
        ['a/wren.hex', undefined],
        ['b/wren.hex', 'b/wren.card.json'],
      ],
      strays: [],
    })
    expect(pair('v1.2/wren', 'v1.json').strays).toEqual(['v1.json'])
  })
})
