import * as fs from 'node:fs/promises'
import { join } from 'node:path'
import { isPassedOver, MOST_FOLDER_DEPTH, MOST_FOLDER_FILES } from '../../shared/library/folder-rules.ts'

export interface FoundFile {
  /** From the folder on, with `/` between its parts. */
  readonly name: string
  readonly path: string
  readonly bytes: number
  readonly modifiedMs: number
}

export interface Walked {
  readonly files: readonly FoundFile[]
  /** What was left out because there is too much of it, in a sentence. */
  readonly bounds?: string
}

/**
 * The files of a folder and of those in it, in the order of their names. Links are not followed: they may lead
 * anywhere, and in a circle.
 * @param isLeftOut folders that are not entered, by their path
 * @throws the file system's error when the folder itself cannot be read
 */
export async function walkFolder(
  folder: string,
  isLeftOut: (path: string) => boolean = () => false,
): Promise<Walked> {
  const files: FoundFile[] = []
  let [tooMany, tooDeep] = [false, false]
  const enter = async (path: string, before: string, depth: number, isTop: boolean): Promise<void> => {
    const entries = await fs.readdir(path, { withFileTypes: true }).catch(error => {
      // One folder that may not be read does not keep the others out.
      if (isTop) throw error
      return []
    })
    entries.sort((a, b) => (a.name < b.name ? -1 : 1))
    for (const entry of entries) {
      if (tooMany) return
      if (isPassedOver(entry.name)) continue
      const [name, own] = [before + entry.name, join(path, entry.name)]
      if (entry.isDirectory()) {
        if (depth >= MOST_FOLDER_DEPTH) tooDeep = true
        else if (!isLeftOut(own)) await enter(own, `${name}/`, depth + 1, false)
      } else if (entry.isFile()) {
        if (files.length >= MOST_FOLDER_FILES) tooMany = true
        else {
          const about = await fs.lstat(own).catch(() => undefined)
          if (about?.isFile()) files.push({ name, path: own, bytes: about.size, modifiedMs: about.mtimeMs })
        }
      }
    }
  }
  await enter(folder, '', 1, true)
  const said = [
    tooMany && `Only the first ${MOST_FOLDER_FILES.toLocaleString('en')} files are looked at.`,
    tooDeep && `Folders more than ${MOST_FOLDER_DEPTH} deep are left out.`,
  ].filter(Boolean)
  return { files, ...(said.length > 0 ? { bounds: said.join(' ') } : {}) }
}
