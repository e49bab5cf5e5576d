import ts from 'typescript'
import { describe, expect, it } from 'vitest'
import { GROWTH_READINGS } from '../../src/model/growth.js'
import { READINGS } from '../../src/model/reading.js'
import { measureFileOf } from '../../src/settings/readme-tables.js'
import { filesUnder, forEachNode, parse, textOf } from './source-files.js'

const READABLE = /\.(ts|mts|js|mjs|json|ya?ml|md|hbs|css|html|svg|csv|txt)$/
const written = ['src', 'tests', 'pipelines', 'reports', 'fixtures']
  .flatMap(filesUnder)
  .concat('README.md')
  .filter(path => READABLE.test(path))
const code = written.filter(path => path.endsWith('.ts'))

/** Names under which anything may be put, and so nothing is found. */
const NAMELESS = /^(utils?|helpers?|common|managers?|misc|shared)$|[-_.](utils?|helpers?|common|managers?)$/i

/** Folders of one machine: a home, the workplace, the temporary folder, a drive's users. */
const MACHINE_PATH = /(?:file:\/\/|(?<![\w.:/-]))\/(work|tmp|root|home|Users|mnt|var\/folders)\/\w|[A-Z]:\\Users\\/

/** Work left for later belongs in the list of work, not in the code. */
const LEFT_OVER = new RegExp(`\\b(${['TO' + 'DO', 'FIX' + 'ME', 'X' + 'XX', 'HA' + 'CK'].join('|')})\\b`)

function linesWith(path: string, text: string, pattern: RegExp): readonly string[] {
  return text
    .split('\n')
    .flatMap((line, i) => (pattern.test(line) ? [`${path}:${i + 1}: ${line.trim().slice(0, 120)}`] : []))
}

/** `.only` anywhere, and `.skip`, `.skipIf`, `.runIf`, `.todo`, `.fails` whose title does not say `(needs ...)` or `(skipped ...)`. */
function unreasonedSkips(path: string, text: string): readonly string[] {
  if (!/\.(only|skip|skipIf|runIf|todo|fails)\b/.test(text)) return []
  const file = parse(path, text)
  const found: string[] = []
  forEachNode(file, node => {
    if (!ts.isPropertyAccessExpression(node)) return
    const root = node.expression.getText(file).split('.')[0]!
    if (!['it', 'test', 'describe', 'suite', 'bench'].includes(root)) return
    const how = node.name.text
    const line = file.getLineAndCharacterOfPosition(node.getStart(file)).line + 1
    if (how === 'only') found.push(`${path}:${line}: .only`)
    else if (['skip', 'skipIf', 'runIf', 'todo', 'fails'].includes(how)) {
      let call: ts.Node = node.parent
      while (ts.isCallExpression(call) && ts.isCallExpression(call.parent) && call.parent.expression === call)
        call = call.parent
      const title = ts.isCallExpression(call) ? call.arguments[0] : undefined
      const said = title !== undefined && (ts.isStringLiteralLike(title) || ts.isTemplateExpression(title))
      if (!(said && /\((needs? |skipped )/.test(title.getText(file))))
        found.push(`${path}:${line}: .${how} without "(needs ...)"`)
    }
  })
  return found
}

describe('house rules', () => {
  it('read something', () => {
    expect(code.length).toBeGreaterThan(40)
    expect(written).toContain('README.md')
  })

  it('no folder or file is called utils, helpers, common or manager', () => {
    const bad = [...filesUnder('src'), ...filesUnder('tests')].filter(path =>
      path.split('/').some(part => NAMELESS.test(part.replace(/(\.test)?\.\w+$/, ''))),
    )
    expect(bad).toEqual([])
  })

  it('source files are named in kebab case', () => {
    const bad = filesUnder('src').filter(path => !/^src(\/[a-z0-9]+(-[a-z0-9]+)*)+(\.d)?\.\w+$/.test(path))
    expect(bad).toEqual([])
  })

  it('no path of a machine is written down', () => {
    expect(written.flatMap(path => linesWith(path, textOf(path), MACHINE_PATH))).toEqual([])
  })

  it('nothing is marked as left over', () => {
    expect(written.flatMap(path => linesWith(path, textOf(path), LEFT_OVER))).toEqual([])
  })

  it('no test is singled out, and none skipped without a reason in its title', () => {
    expect(code.flatMap(path => unreasonedSkips(path, textOf(path)))).toEqual([])
  })

  it('every test file asserts something', () => {
    const bad = code.filter(path => path.endsWith('.test.ts') && !/\bexpect|Contract\(/.test(textOf(path)))
    expect(bad).toEqual([])
  })
})

describe('readings and their files', () => {
  const measureFiles = filesUnder('src/measure').map(path => path.slice('src/measure/'.length))
  const testFiles = filesUnder('tests/unit/measure')
  /** Growth needs two scans: compare/ takes it, with tests of its own. */
  const names = Object.keys(READINGS).filter(name => !(GROWTH_READINGS as readonly string[]).includes(name))

  it('no file of measure/ takes a reading the table does not have', () => {
    const bad = measureFiles.flatMap(name => {
      const methods = textOf(`src/measure/${name}`).matchAll(/['"`](\w+)@\d+['"`]/g)
      return [...methods]
        .map(match => match[1]!)
        .filter(reading => !names.includes(reading))
        .map(r => `${name}: ${r}`)
    })
    expect(bad).toEqual([])
  })

  it('every reading has its file once measure/ is there, and its test once the first test is', () => {
    for (const reading of names) {
      const file = measureFileOf(reading, measureFiles)
      if (measureFiles.length > 0) expect(file, reading).not.toBeNull()
      if (testFiles.length > 0) expect(testFiles, reading).toContain(`tests/unit/measure/${file}.test.ts`)
    }
    expect(names.length).toBeGreaterThan(0)
  })
})

describe('the checks themselves', () => {
  it('know a machine path from a route, an address and a regular expression', () => {
    for (const bad of ['/' + 'tmp/x', 'file://' + '/' + 'tmp/x', "'/" + "home/anna/x'", 'C:' + '\\Users\\x'])
      expect(bad).toMatch(MACHINE_PATH)
    for (const good of ['a/tmp/x', 'https://example.org/home/x', '/reports/x', './work/x', '/temporary/x'])
      expect(good).not.toMatch(MACHINE_PATH)
  })

  it('know names that name nothing', () => {
    for (const bad of ['utils', 'imageHelpers'.replace('imageH', 'h'), 'image-helpers', 'common', 'scan-manager'])
      expect(bad).toMatch(NAMELESS)
    for (const good of ['commonwealth', 'utility-lamp', 'manage-stock', 'light-field'])
      expect(good).not.toMatch(NAMELESS)
  })

  it('know a skip with a reason from one without', () => {
    const count = (text: string) => unreasonedSkips('x.test.ts', text).length
    expect(count(`it${'.only'}('a', () => {})`)).toBe(1)
    expect(count(`describe.each([1])${'.only'}('a', () => {})`)).toBe(1)
    expect(count(`it${'.skip'}('a', () => {})`)).toBe(1)
    expect(count(`it${'.skip'}('a (skipped without the shared data)', () => {})`)).toBe(0)
    expect(count(`describe.skipIf(!have)('a', () => {})`)).toBe(1)
    expect(count('describe.skipIf(!have)(`a (needs the shared data)`, () => {})')).toBe(0)
    expect(count(`describe.skipIf(!have)(\n  'a (needs a browser)', () => {})`)).toBe(0)
    expect(count('describe.skipIf(!have)(`a (skipped when there is no browser)`, () => {})')).toBe(0)
    expect(count(`stream.skip('a'); only('b')`)).toBe(0)
  })
})
