import { readdirSync, readFileSync, statSync } from 'node:fs'
import { fileURLToPath } from 'node:url'
import ts from 'typescript'

/** Root of the project, with a slash at the end. */
export const ROOT = fileURLToPath(new URL('../../', import.meta.url))

const NOT_OURS = new Set(['node_modules', 'dist', '.git', 'coverage'])

/** Every file under a folder of the project, as a path from the root with forward slashes; none when it is missing. */
export function filesUnder(folder: string): readonly string[] {
  const found: string[] = []
  const walk = (path: string): void => {
    for (const name of readdirSync(ROOT + path).sort()) {
      if (NOT_OURS.has(name)) continue
      const inner = `${path}/${name}`
      if (statSync(ROOT + inner).isDirectory()) walk(inner)
      else found.push(inner)
    }
  }
  if (statSync(ROOT + folder, { throwIfNoEntry: false })?.isDirectory()) walk(folder)
  return found
}

export function textOf(path: string): string {
  return readFileSync(ROOT + path, 'utf8')
}

/** One source text, parsed. */
export function parse(path: string, text: string): ts.SourceFile {
  return ts.createSourceFile(path, text, ts.ScriptTarget.ES2022, true)
}

/** Calls `visit` with every node of a file. */
export function forEachNode(file: ts.SourceFile, visit: (node: ts.Node) => void): void {
  const walk = (node: ts.Node): void => {
    visit(node)
    ts.forEachChild(node, walk)
  }
  walk(file)
}

/** One import of a file; `typeOnly` leaves no trace at run time. */
export interface Import {
  readonly specifier: string
  readonly typeOnly: boolean
}

/** Everything a file imports: static, re-exported, `import()`, `import('x').T`, `new URL('x.js', import.meta.url)`. */
export function importsOf(file: ts.SourceFile): readonly Import[] {
  const found: Import[] = []
  const add = (node: ts.Node | undefined, typeOnly = false): void => {
    if (node !== undefined && ts.isStringLiteralLike(node)) found.push({ specifier: node.text, typeOnly })
  }
  forEachNode(file, node => {
    if (ts.isImportDeclaration(node)) add(node.moduleSpecifier, importsOnlyTypes(node.importClause))
    else if (ts.isExportDeclaration(node)) add(node.moduleSpecifier, node.isTypeOnly)
    else if (ts.isImportTypeNode(node) && ts.isLiteralTypeNode(node.argument)) add(node.argument.literal, true)
    else if (ts.isCallExpression(node) && node.expression.kind === ts.SyntaxKind.ImportKeyword) add(node.arguments[0])
    else if (ts.isNewExpression(node) && node.expression.getText(file) === 'URL') {
      const [target] = node.arguments ?? []
      if (target !== undefined && ts.isStringLiteralLike(target) && /\.[jt]s$/.test(target.text)) add(target)
    }
  })
  return found
}

function importsOnlyTypes(clause: ts.ImportClause | undefined): boolean {
  if (clause === undefined) return false
  if (clause.isTypeOnly) return true
  const named = clause.namedBindings
  if (clause.name !== undefined || named === undefined || !ts.isNamedImports(named)) return false
  return named.elements.length > 0 && named.elements.every(element => element.isTypeOnly)
}

/** Lines on which a file asks the machine for time, chance or surroundings, as `line: expression`. */
export function worldlyCalls(file: ts.SourceFile): readonly string[] {
  const found: string[] = []
  forEachNode(file, node => {
    const line = file.getLineAndCharacterOfPosition(node.getStart(file)).line + 1
    if (ts.isNewExpression(node) && node.expression.getText(file) === 'Date' && (node.arguments?.length ?? 0) === 0)
      found.push(`${line}: new Date()`)
    else if (ts.isCallExpression(node) && node.expression.getText(file) === 'Date') found.push(`${line}: Date()`)
    else if (ts.isPropertyAccessExpression(node)) {
      const text = node.getText(file)
      if (WORLDLY.test(text)) found.push(`${line}: ${text}`)
    } else if (ts.isIdentifier(node) && node.text === 'randomUUID' && !ts.isPropertyAccessExpression(node.parent))
      found.push(`${line}: randomUUID`)
  })
  return found
}

const WORLDLY = /^(globalThis\.)?(Date\.now|Math\.random|process\.(env|cwd|hrtime)|performance\.now|crypto\.random\w+)$/
