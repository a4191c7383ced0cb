import { existsSync, readdirSync, readFileSync } from 'node:fs'
import { dirname, join, posix } from 'node:path'
import type { ESTree } from 'vite'
import { parseSync, Visitor } from 'vite'
import { projectRoot } from '../../main/scripts/build.mjs'

export interface SourceModule {
  /** Path below the project folder, with slashes. */
  readonly path: string
  /** Everything it imports, types too: packages by name, files by path below the project folder. */
  readonly imports: readonly string[]
  /** Whether it exports anything but types. */
  readonly exportsValues: boolean
  /** Uses of the clock or of chance, as `Math.random`. */
  readonly impurities: readonly string[]
}

/** Reads every TypeScript and JavaScript file below the given top-level folders. */
export function readModules(...folders: readonly string[]): SourceModule[] {
  return folders
    .filter(folder => existsSync(join(projectRoot, folder)))
    .flatMap(folder =>
      readdirSync(join(projectRoot, folder), { recursive: true, encoding: 'utf8' }).map(name =>
        posix.join(folder, name),
      ),
    )
    .filter(path => /\.(ts|tsx|mjs)$/.test(path) && !path.endsWith('.d.ts'))
    .sort()
    .map(path => readModule(path, readFileSync(join(projectRoot, path), 'utf8')))
}

/** What a module's text imports, exports and uses. `path` places its relative imports. */
export function readModule(path: string, text: string): SourceModule {
  const { module, program, errors } = parseSync(path, text)
  if (errors.length > 0) throw new Error(`${path}: ${errors[0].message}`)
  const named = [
    ...module.staticImports.map(({ moduleRequest }) => moduleRequest.value),
    ...module.staticExports.flatMap(({ entries }) =>
      entries.flatMap(({ moduleRequest }) => moduleRequest?.value ?? []),
    ),
    ...module.dynamicImports.map(({ moduleRequest }) =>
      text.slice(moduleRequest.start + 1, moduleRequest.end - 1),
    ),
    ...[...text.matchAll(/\bimport\(['"]([^'"]+)['"]\)/g)].map(match => match[1]),
    ...[...text.matchAll(/\brequire\(['"]([^'"]+)['"]\)/g)].map(match => match[1]),
  ]
  return {
    path,
    imports: [...new Set(named.map(name => (name.startsWith('.') ? posix.join(dirname(path), name) : name)))],
    exportsValues: module.staticExports.some(({ entries }) => entries.some(({ isType }) => !isType)),
    impurities: findImpurities(program),
  }
}

function findImpurities(program: ESTree.Program): string[] {
  const found: string[] = []
  const nameOf = (node: ESTree.Node) => (node.type === 'Identifier' ? node.name : undefined)
  new Visitor({
    MemberExpression(node) {
      const used = `${nameOf(node.object)}.${nameOf(node.property)}`
      const computed = node.computed && ['Math', 'Date'].includes(nameOf(node.object) ?? '')
      if (computed || /^(Math\.random|Date\.now|performance\.\w+|crypto\.\w+)$/.test(used)) found.push(used)
    },
    NewExpression(node) {
      if (nameOf(node.callee) === 'Date' && node.arguments.length === 0) found.push('new Date()')
    },
    CallExpression(node) {
      if (nameOf(node.callee) === 'Date') found.push('Date()')
    },
    VariableDeclarator(node) {
      // `const { random } = Math` would go unseen otherwise.
      if (node.init !== null && ['Math', 'Date', 'performance', 'crypto'].includes(nameOf(node.init) ?? '')) {
        found.push(`${nameOf(node.init)} under another name`)
      }
    },
  }).visit(program)
  return found
}
