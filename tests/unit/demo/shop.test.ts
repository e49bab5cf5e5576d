import { mkdtemp, readFile, rm, stat } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { filmToPixel, scanSize } from '../../../src/demo/scanner.js'
import { demoScans, writeDemoScan } from '../../../src/demo/shop.js'
import { parseSidecar } from '../../../src/settings/sidecar-settings.js'
import { expectWithin } from '../../support/expect-within.js'

let dir: string
beforeAll(async () => {
  dir = await mkdtemp(join(tmpdir(), 'demo-shop-'))
})
afterAll(() => rm(dir, { recursive: true }))

const scans = demoScans()

describe('demoScans', () => {
  it('a tablet, a knife edge, ten films, one broken file; ids and file names differ; oldest first', () => {
    const count = (kind: string) => scans.filter(scan => scan.kind === kind).length
    expect([count('tablet'), count('knifeEdge'), count('positive'), count('broken')]).toEqual([1, 1, 10, 1])
    expect(new Set(scans.map(scan => scan.id)).size).toBe(scans.length)
    expect(new Set(scans.map(scan => scan.fileName)).size).toBe(scans.length)
    const times = scans.map(scan => scan.scannedAt)
    expect(times).toEqual([...times].sort())
  })

  it('all three ends of a story are told', () => {
    expect(new Set(scans.map(scan => scan.expected))).toEqual(new Set(['pass', 'fail', 'recheck', null]))
    for (const scan of scans) expect(scan.story).toMatch(/\.$/)
  })

  it('every film lies on its bed with at least 1 mm of open light round it', () => {
    for (const { scan, id } of scans) {
      const { width, height, pitchUm } = scanSize(scan)
      const margin = 1000 / pitchUm.across
      for (const u of [0, scan.film.widthMm])
        for (const v of [0, scan.film.heightMm]) {
          const { column, row } = filmToPixel(scan, u, v)
          expect(Math.min(column, row, width - column, height - row), id).toBeGreaterThan(margin)
        }
    }
  })

  it('every positive has straight edges, and a solid of 8 x 8 mm', () => {
    for (const { scan, kind, id } of scans) {
      if (kind !== 'positive') continue
      const solids = scan.film.shapes.flatMap(s => (s.kind === 'rectangle' && (s.turn ?? 0) === 0 ? [s] : []))
      expect(solids.filter(s => Math.min(s.width, s.height) >= 8).length, id).toBeGreaterThan(0)
      expect(solids.filter(s => s.width > 3).length, id).toBeGreaterThan(3)
      expect(solids.filter(s => s.height > 3).length, id).toBeGreaterThan(3)
    }
  })

  it('the stored positive creeps by diffusion and keeps its density', () => {
    const stored = scans.filter(scan => scan.sidecar?.positive === 'regatta-front')
    expect(stored.map(scan => scan.expected)).toEqual(['pass', 'pass', 'fail'])
    const squares = stored.map(scan => scan.truth!.inkSpreadUm ** 2)
    expectWithin((squares[1]! - squares[0]!) / 17, (squares[2]! - squares[0]!) / 35, {
      abs: 1e-9,
      unit: 'um2/day',
      because: 'sigma^2 grows evenly',
    })
    expect(new Set(stored.map(scan => scan.truth!.solidDensity)).size).toBe(1)
  })

  it('days hang from the last one', () => {
    const later = demoScans('2027-01-31')
    expect(later.at(-1)!.scannedAt.slice(0, 10)).toBe('2027-01-31')
    expect(later[0]!.scannedAt.slice(0, 10)).toBe('2026-12-27')
    expect(() => demoScans('soon')).toThrow('YYYY-MM-DD')
  })
})

describe('writeDemoScan', () => {
  it('the sidecar is one the settings take, and says what the story needs', async () => {
    for (const scan of scans) {
      if (scan.sidecar === null) continue
      const small = { ...scan, scan: { ...scan.scan, bedWidthMm: 1, bedHeightMm: 1 } }
      const { sidecar } = await writeDemoScan(small, dir)
      expect(sidecar).toBe(join(dir, `${scan.fileName}.yaml`))
      expect(parseSidecar(await readFile(sidecar!, 'utf8'), scan.fileName)).toEqual(scan.sidecar)
    }
  })

  it('the tablet comes with its certificate', async () => {
    const small = { ...scans[0]!, scan: { ...scans[0]!.scan, bedWidthMm: 1, bedHeightMm: 1 } }
    const { certificate } = await writeDemoScan(small, dir)
    expect((await readFile(certificate!, 'utf8')).split('\n')).toHaveLength(33)
  })

  it('the broken file is cut short', async () => {
    const broken = scans.find(scan => scan.kind === 'broken')!
    const small = { ...broken, scan: { ...broken.scan, bedWidthMm: 4, bedHeightMm: 4 } }
    const { scan, sidecar } = await writeDemoScan(small, dir)
    expect(sidecar).toBeNull()
    const { width, height } = scanSize(small.scan)
    expect((await stat(scan)).size).toBeLessThan(width * height * 2 * 0.6)
    await writeDemoScan({ ...small, kind: 'positive' }, dir)
    expect((await stat(scan)).size).toBeGreaterThan(width * height * 2)
  })
})
