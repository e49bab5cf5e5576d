import { spawnSync } from 'node:child_process'
import { fileURLToPath } from 'node:url'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { filesUnder, importsOf, parse, textOf } from '../architecture/source-files.js'
import { type ScanFolder, scanFolder } from '../support/scan-folder.js'
import { standInScan } from '../support/stand-in-measure.js'

const CLI = fileURLToPath(new URL('../../src/cli.ts', import.meta.url))
const TSX = import.meta.resolve('tsx')

let folder: ScanFolder
beforeEach(() => {
  folder = scanFolder()
})
afterEach(() => folder.remove())

function burngate(args: readonly string[], more: { import?: string; env?: Record<string, string> } = {}) {
  const preload = more.import === undefined ? [] : ['--import', more.import]
  const { status, stdout, stderr } = spawnSync(process.execPath, ['--import', TSX, ...preload, CLI, ...args], {
    cwd: folder.path,
    encoding: 'utf8',
    env: { ...process.env, ...more.env },
  })
  return { status, stdout, stderr }
}

describe('cli.ts', () => {
  it('loads nothing heavy before a command is known: --version answers at once', () => {
    const seen = new Set<string>()
    const packages = new Set<string>()
    const walk = (path: string): void => {
      if (seen.has(path)) return
      seen.add(path)
      const lazy = new Set([...textOf(path).matchAll(/import\('([^']+)'\)/g)].map(match => match[1]))
      for (const { specifier, typeOnly } of importsOf(parse(path, textOf(path)))) {
        if (typeOnly || lazy.has(specifier)) continue
        if (specifier.startsWith('.'))
          walk(new URL(specifier, `file:///${path}`).pathname.slice(1).replace(/\.js$/, '.ts'))
        else packages.add(specifier)
      }
    }
    walk('src/cli.ts')
    expect(filesUnder('src')).toContain('src/cli.ts')
    expect([...packages].sort()).toEqual(['commander', 'node:fs', 'node:v8'])
    expect([...seen].sort()).toEqual(['src/cli.ts', 'src/model/problem.ts'])
    const { status, stdout } = burngate(['--version'])
    expect([status, stdout.trim()]).toEqual([0, expect.stringMatching(/^burngate \d+\.\d+\.\d+$/)])
  })

  it('answers a wrong command line with 64 and the nearest right name', () => {
    const wrong = burngate(['inspekt', 'x.tif'])
    expect(wrong).toMatchObject({ status: 64, stdout: '', stderr: expect.stringContaining('Did you mean inspect?') })
    expect(burngate(['inspect'])).toMatchObject({
      status: 64,
      stderr: expect.stringContaining("missing required argument 'scan'"),
    })
    expect(burngate(['inspect', 'x.tif', '--jsn'])).toMatchObject({
      status: 64,
      stderr: expect.stringContaining('--json'),
    })
    expect(burngate(['watch', '--once'])).toMatchObject({
      status: 64,
      stderr: expect.stringMatching(
        /there is no burngate workspace at .*\n {2}To do: make one with `burngate init DIR`/,
      ),
    })
  })

  it('measures a scan for real, in one line of JSON, and says in JSON what it cannot measure', () => {
    folder.put('flat.tif', standInScan(3.4, 1))
    folder.put('note.txt', 'hello')
    const real = burngate(['inspect', 'flat.tif', 'note.txt', '--json'])
    expect(real.status).toBe(3)
    const lines = real.stdout
      .trim()
      .split('\n')
      .map(line => JSON.parse(line))
    expect(lines).toHaveLength(2)
    expect(lines[1]).toMatchObject({ schema: 'burngate/problem@1', file: 'note.txt', code: 'NOT_A_SCAN' })
    expect(real.stderr).not.toMatch(/\n\s+at /)
  })

  it('answers its own fault with 70 and one line, the stack only when asked for', () => {
    const broken = folder.put('broken.mjs', "process.cwd = () => { throw new TypeError('no such place') }")
    const preload = { import: `file://${broken}` }
    const fault = burngate(['board'], preload)
    expect(fault).toMatchObject({ status: 70, stdout: '' })
    expect(fault.stderr).toMatch(/^burngate itself failed: no such place\n {2}To do: .*BURNGATE_DEBUG=1.*\n$/)
    expect(burngate(['board'], { ...preload, env: { BURNGATE_DEBUG: '1' } }).stderr).toMatch(/\n\s+at /)
  })
})
