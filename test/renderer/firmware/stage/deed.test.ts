import { describe, expect, it } from 'vitest'
import { deedFor, isDone, placeWord } from '../../../../renderer/firmware/stage/deed.ts'
import { folderError, trimFolder } from '../../../../renderer/firmware/stage/folder.ts'
import { digestWords } from '../../../../shared/image/digest.ts'

const digest = (start: string) => start.padEnd(64, '0')

describe('what a person does to show that the image was looked at', () => {
  it('is to type the first word by which it differs from all look-alikes', () => {
    const own = digest('11112222333344445555')
    expect(deedFor(own, [digest('99')]).position).toBe(1)
    // The first word is the same in one of them, the second in the other.
    const deed = deedFor(own, [digest('1111999988887777'), digest('9999222299994444')])
    expect(deed.position).toBe(3)
    expect(deed.word).toBe(digestWords(own).split('-')[2])
    expect(placeWord(deed.position)).toBe('third')
  })

  it('is the first word where the digest of a look-alike is not known, or no word differs', () => {
    const own = digest('1234')
    expect(deedFor(own, [undefined]).position).toBe(1)
    expect(deedFor(own, [own]).position).toBe(1)
  })

  it('is done by this word and by no other', () => {
    const deed = deedFor(digest('abcd'), [digest('01')])
    expect(isDone(deed, ` ${deed.word.toUpperCase()} `)).toBe(true)
    for (const typed of ['', deed.word.slice(0, -1), `${deed.word}x`]) expect(isDone(deed, typed)).toBe(false)
    expect(isDone(undefined, '')).toBe(true)
  })
})

describe('a folder while it is typed', () => {
  it('is none, or one, or folders in folders', () => {
    for (const typed of ['', ' / ', 'IMAGES', '/IMAGES/', 'A/B/c d'])
      expect(folderError(typed)).toBeUndefined()
    expect(trimFolder(' /A/B/ ')).toBe('A/B')
  })

  // Source: Microsoft, "Naming Files, Paths, and Namespaces".
  it.each(['a:b', 'con', 'x.', 'A//B', '..', 'a\\b'])('is refused as %j, with what to do', typed => {
    expect(folderError(typed)).toMatch(/\w\. \w/)
  })
})
