import { posix } from 'node:path'
import { describe, expect, it } from 'vitest'
import { filesUnder, importsOf, parse, textOf, worldlyCalls } from './source-files.js'

/**
 * Which folder may import which; its own and model/ are always allowed. `*`: anything.
 * `app` is src/app.ts. Change the table when a better house is found, in the same change.
 */
const MAY_IMPORT: Readonly<Record<string, readonly string[]>> = {
  model: [],
  settings: [],
  /** The loops over every pixel, compiled to WebAssembly; they know of no image. */
  kernels: [],
  imaging: ['kernels'],
  decode: ['imaging', 'kernels'],
  calibrate: ['imaging'],
  strip: [],
  locate: ['imaging', 'strip'],
  /** Lays the artwork on the film, beside locate. */
  artwork: ['imaging'],
  measure: ['imaging', 'kernels'],
  /** measure/ for the edge model and the density of a patch: both scans must be read as every other scan is. */
  compare: ['imaging', 'measure'],
  judge: [],
  trend: [],
  /** What readings mean for the next print: tone correction, ruling and mesh. Never a verdict. */
  advise: ['imaging'],
  /** imaging/ for Student's t alone. */
  ladder: ['imaging'],
  /**
   * The stages in order; report/ is the last of them and draws the pictures of the pixel half. settings/ for the
   * rules of names: which positive a file name or a sidecar says. trend/ and ladder/ for what many scans tell together.
   */
  pipeline: [
    'settings',
    'imaging',
    'decode',
    'calibrate',
    'strip',
    'locate',
    'artwork',
    'measure',
    'compare',
    'judge',
    'trend',
    'ladder',
    'advise',
    'report',
  ],
  watch: [],
  history: [],
  report: ['advise'],
  board: ['report'],
  commands: ['app'],
  /** strip/ for the strip that its printer prints. */
  demo: ['imaging', 'strip'],
  app: ['*'],
  cli: ['*'],
}

/** Packages that touch pixels, disk or stores, and the folders that may use them (app.ts and cli.ts may use all). */
const PACKAGE_HOMES: Readonly<Record<string, readonly string[]>> = {
  sharp: ['decode', 'demo', 'strip'],
  'bwip-js': ['strip'],
  pdfkit: ['strip'],
  tiff: ['decode'],
  libsql: ['history'],
  chokidar: ['watch'],
  tinypool: ['pipeline'],
  handlebars: ['report'],
  commander: [],
  'cli-progress': ['commands'],
}

/** Files that may ask for time, chance or surroundings, with the reason. */
const WORLDLY_FILES: Readonly<Record<string, string>> = {
  'src/app.ts': 'chooses the real clock, disk and store',
  'src/cli.ts': 'reads the command line of the real process',
  'src/pipeline/archive-scan.ts': 'a half-written copy needs a name no other process has; nothing else depends on it',
}

const sources = filesUnder('src')
  .filter(path => path.endsWith('.ts'))
  .map(path => {
    const file = parse(path, textOf(path))
    return { path, folder: folderOf(path), file, imports: importsOf(file) }
  })

/** `judge` of src/judge/advice.ts, `app` of src/app.ts. */
function folderOf(path: string): string {
  return path.split('/')[1]!.replace(/\.ts$/, '')
}

/** The file of the project an import means, or null for a package. */
function targetOf(from: string, specifier: string): string | null {
  if (!specifier.startsWith('.')) return null
  return posix.join(posix.dirname(from), specifier).replace(/\.js$/, '.ts')
}

function brokenImports(path: string, folder: string, specifiers: readonly string[]): readonly string[] {
  const allowed = MAY_IMPORT[folder]
  if (allowed === undefined) return [`${path}: the folder ${folder} is not in the table`]
  if (allowed.includes('*')) return []
  return specifiers.flatMap(specifier => {
    const target = targetOf(path, specifier)
    if (target === null) {
      const homes = PACKAGE_HOMES[specifier.split('/')[0]!]
      return homes === undefined || homes.includes(folder) ? [] : [`${path} may not use the package ${specifier}`]
    }
    if (!target.startsWith('src/')) return [`${path} imports ${specifier}, which lies outside src`]
    const other = folderOf(target)
    return other === folder || other === 'model' || allowed.includes(other)
      ? []
      : [`${path} may not import ${specifier}`]
  })
}

/** Every ring of files that import each other, as `a -> b -> a`. */
function cyclesIn(graph: ReadonlyMap<string, readonly string[]>): readonly string[] {
  const done = new Set<string>()
  const found: string[] = []
  const walk = (path: string, trail: readonly string[]): void => {
    const at = trail.indexOf(path)
    if (at >= 0) {
      found.push([...trail.slice(at), path].join(' -> '))
      return
    }
    if (done.has(path)) return
    for (const next of graph.get(path) ?? []) walk(next, [...trail, path])
    done.add(path)
  }
  for (const path of graph.keys()) walk(path, [])
  return found
}

describe('imports of src', () => {
  it('reads the sources', () => {
    expect(sources.length).toBeGreaterThan(20)
    expect(sources.map(s => s.path)).toContain('src/model/reading.ts')
  })

  it('keep to the table', () => {
    expect(
      sources.flatMap(s =>
        brokenImports(
          s.path,
          s.folder,
          s.imports.map(i => i.specifier),
        ),
      ),
    ).toEqual([])
  })

  it('end in .js when they stay in the project', () => {
    const bad = sources.flatMap(s =>
      s.imports
        .filter(({ specifier }) => specifier.startsWith('.') && !specifier.endsWith('.js'))
        .map(({ specifier }) => `${s.path} imports ${specifier}`),
    )
    expect(bad).toEqual([])
  })

  it('run in no circle (a type borrowed back is no circle: it is gone before the program runs)', () => {
    const graph = new Map(
      sources.map(s => [
        s.path,
        s.imports.filter(i => !i.typeOnly).flatMap(({ specifier }) => targetOf(s.path, specifier) ?? []),
      ]),
    )
    expect(cyclesIn(graph)).toEqual([])
  })

  it('take no time, chance or surroundings but through app.ts and cli.ts', () => {
    const bad = sources
      .filter(s => WORLDLY_FILES[s.path] === undefined)
      .flatMap(s => worldlyCalls(s.file).map(call => `${s.path}:${call}`))
    expect(bad).toEqual([])
  })
})

describe('the checks themselves', () => {
  const imports = (text: string) =>
    importsOf(parse('x.ts', text)).map(i => `${i.typeOnly ? 'type ' : ''}${i.specifier}`)

  it('see every way to import', () => {
    expect(
      imports(`import a from './a.js'
import type { B } from './b.js'
import { type B2 } from './b2.js'
import { type B3, b4 } from './b3.js'
export { c } from './c.js'
const d = await import('./d.js')
type E = import('./e.js').E
new Worker(new URL('./f.js', import.meta.url))
// import g from './g.js'
const h = "import h from './h.js'"`),
    ).toEqual(['./a.js', 'type ./b.js', 'type ./b2.js', './b3.js', './c.js', './d.js', 'type ./e.js', './f.js'])
  })

  it('refuse what the table forbids and let through what it allows', () => {
    const broken = (path: string, specifier: string) => brokenImports(path, folderOf(path), [specifier]).length
    expect(broken('src/measure/a.ts', '../judge/b.js')).toBe(1)
    expect(broken('src/measure/a.ts', '../imaging/b.js')).toBe(0)
    expect(broken('src/imaging/a.ts', '../measure/b.js')).toBe(1)
    expect(broken('src/model/a.ts', '../settings/b.js')).toBe(1)
    expect(broken('src/commands/a.ts', '../history/b.js')).toBe(1)
    expect(broken('src/commands/a.ts', '../app.js')).toBe(0)
    expect(broken('src/judge/a.ts', '../../tests/b.js')).toBe(1)
    expect(broken('src/judge/a.ts', 'sharp')).toBe(1)
    expect(broken('src/decode/a.ts', 'sharp')).toBe(0)
    expect(broken('src/pipeline/a.ts', '../commands/b.js')).toBe(1)
    expect(broken('src/pipeline/a.ts', '../history/b.js')).toBe(1)
    expect(broken('src/cli.ts', './history/b.js')).toBe(0)
    expect(broken('src/odd/a.ts', '../model/b.js')).toBe(1)
  })

  it('find a circle, and none in a diamond', () => {
    const graph = (edges: Record<string, string[]>) => new Map(Object.entries(edges))
    expect(cyclesIn(graph({ a: ['b'], b: ['c'], c: ['a'] }))).toEqual(['a -> b -> c -> a'])
    expect(cyclesIn(graph({ a: ['b', 'c'], b: ['d'], c: ['d'], d: [] }))).toEqual([])
  })

  it('see clocks, chance and surroundings, and not a date that is given', () => {
    const calls = (text: string) => worldlyCalls(parse('x.ts', text)).map(call => call.replace(/^\d+: /, ''))
    expect(
      calls(
        `new Date(); Date(); Date.now(); Math.random(); process.env.HOME; process.cwd(); performance.now(); randomUUID()`,
      ),
    ).toEqual([
      'new Date()',
      'Date()',
      'Date.now',
      'Math.random',
      'process.env',
      'process.cwd',
      'performance.now',
      'randomUUID',
    ])
    expect(calls(`new Date(given); clock.now(); Math.round(3); 'Date.now()' // Math.random()`)).toEqual([])
  })
})
