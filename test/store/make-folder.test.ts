import { existsSync, statSync, symlinkSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { expect, it, onTestFinished } from 'vitest'
import { makeFolder } from '../../main/store/make-folder.ts'
import { testFolder } from '../support/folder.ts'

const here = () => {
  const folder = testFolder('make-folder')
  onTestFinished(() => folder.remove())
  return folder.path
}

it('makes what is missing on the way, and leaves what is there', () => {
  const path = join(here(), 'a b', "it's", 'ü')
  makeFolder(path)
  makeFolder(path)
  expect(statSync(path).isDirectory()).toBe(true)
})

it('fails where a file or a link to nothing is in the way', () => {
  const folder = here()
  writeFileSync(join(folder, 'file'), '')
  symlinkSync(join(folder, 'nowhere'), join(folder, 'link'))
  expect(() => makeFolder(join(folder, 'file'))).toThrow(/EEXIST/)
  expect(() => makeFolder(join(folder, 'file', 'in'))).toThrow(/ENOTDIR|EEXIST/)
  expect(() => makeFolder(join(folder, 'link', 'in'))).toThrow(/EEXIST/)
})

it.runIf(existsSync('/proc/self'))('comes back from a folder that refuses others by saying ENOENT', () => {
  expect(() => makeFolder('/proc/preflash/data')).toThrow(/ENOENT/)
})
