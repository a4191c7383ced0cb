import { expect, it } from 'vitest'
import { whyNoRoom, whyNotKept, whyNotRead } from '../../main/store/disk-words.ts'

const failing = (code: string) => Object.assign(new Error(`${code}: x`), { code })

it('what the file system says is said in words, by what was to be done', () => {
  expect(whyNotKept(failing('ENOSPC'))).toBe('the disk is full')
  expect(whyNotKept(failing('ENOENT'))).toBe('its folder is not there')
  expect(whyNotRead(failing('ENOENT'))).toBe('there is no such file')
  expect(whyNotRead(failing('EACCES'))).toBe('you may not read it')
  expect(whyNotRead(failing('EIO'))).toBe(whyNotKept(failing('EIO')))
})

it('what has no words keeps its code, so that it can be looked up', () => {
  expect(whyNotKept(failing('EOWNERDEAD'))).toBe('the system says EOWNERDEAD')
  expect(whyNotKept(failing('constructor'))).toBe('the system says constructor')
  expect(whyNotRead(new Error('no code'))).toBe('Error: no code')
})

it('a lack of room is told from everything else', () => {
  expect([failing('EDQUOT'), failing('EACCES'), undefined].map(whyNoRoom)).toEqual([
    'your share of the disk is used up',
    undefined,
    undefined,
  ])
})
