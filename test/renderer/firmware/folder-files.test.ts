import { describe, expect, it } from 'vitest'
import { filesOfEntries, filesOfFolder } from '../../../renderer/firmware/folder-files.ts'

const like = (webkitRelativePath: string, size = 1) => ({
  name: webkitRelativePath.split('/').at(-1) ?? '',
  webkitRelativePath,
  size,
  arrayBuffer: async () => new ArrayBuffer(size),
  text: async () => '',
})
const names = ({ files }: { readonly files: readonly { readonly name: string }[] }) => files.map(f => f.name)

describe('a chosen folder', () => {
  it('gives its files by their paths, without what is passed over', () => {
    const found = filesOfFolder([
      like('club/wren.hex'),
      like('club/old/wren.hex'),
      like('club/.git/config'),
      like('club/Thumbs.db'),
    ])
    expect(names(found)).toEqual(['club/wren.hex', 'club/old/wren.hex'])
    expect(found).toMatchObject({ bounds: [], isFolder: true })
  })

  it('keeps to its bounds and says so', () => {
    const many = filesOfFolder(Array.from({ length: 2001 }, (_, n) => like(`d/${n}.hex`)))
    expect(many.files).toHaveLength(2000)
    expect(many.bounds).toEqual(['Only the first 2,000 files were read.'])
    const large = filesOfFolder([like('d/a', 200 * 1048576), like('d/b', 100 * 1048576), like('d/c')])
    expect(names(large)).toEqual(['d/a', 'd/c'])
    expect(large.bounds[0]).toContain('more than 256 MiB')
    const deep = filesOfFolder([like('d/1/2/3/4/5/a.hex'), like('d/1/2/3/4/5/6/a.hex')])
    expect(names(deep)).toEqual(['d/1/2/3/4/5/a.hex'])
    expect(deep.bounds[0]).toContain('6 deep')
  })
})

/** As the browser hands them over: folders give their entries a few at a time. */
const fileEntry = (name: string, isReadable = true) => ({
  name,
  isFile: true,
  isDirectory: false,
  file: (got: (file: unknown) => void, failed: (error: unknown) => void) =>
    isReadable ? got(like(name)) : failed(new Error('gone')),
})
const folderEntry = (name: string, inside: readonly { readonly name: string }[]) => ({
  name,
  isFile: false,
  isDirectory: true,
  createReader() {
    let at = 0
    return {
      readEntries(got: (some: unknown[]) => void) {
        at += 2
        got(inside.slice(at - 2, at))
      },
    }
  },
})

describe('a dropped folder', () => {
  it('is read to its end, however few entries come at a time', async () => {
    const sub = folderEntry('old', [fileEntry('e.hex')])
    const inside = ['d.hex', 'c.hex', 'b.hex', '.hidden', 'a.hex'].map(name => fileEntry(name))
    const found = await filesOfEntries([
      folderEntry('club', [...inside, sub]) as never,
      fileEntry('x.hex') as never,
    ])
    expect(names(found)).toEqual([
      'club/a.hex',
      'club/b.hex',
      'club/c.hex',
      'club/d.hex',
      'club/old/e.hex',
      'x.hex',
    ])
    expect(found.isFolder).toBe(true)
  })

  it('says what could not be read, and what lies too deep', async () => {
    const deep = ['1', '2', '3', '4', '5', '6', '7'].reduceRight(
      (inside, name) => folderEntry(name, [inside]),
      fileEntry('deep.hex') as { readonly name: string },
    )
    const found = await filesOfEntries([
      folderEntry('club', [fileEntry('gone.hex', false), fileEntry('a.hex'), deep]) as never,
    ])
    expect(names(found)).toEqual(['club/a.hex'])
    expect(found.bounds).toEqual([
      'Folders more than 6 deep were not read.',
      'club/gone.hex could not be read.',
    ])
  })
})
