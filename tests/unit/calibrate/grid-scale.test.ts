import { describe, expect, it } from 'vitest'
import { gridScale } from '../../../src/calibrate/grid-scale.js'
import { unknownLightScale } from '../../../src/calibrate/light-scale.js'
import { type GridPlan, gridFilm } from '../../../src/demo/grid.js'
import { type BedScan, type DemoScanner, scanFilm } from '../../../src/demo/scanner.js'
import type { LightScale } from '../../../src/model/light.js'
import { expectWithin } from '../../support/expect-within.js'
import { memoryScan } from '../../support/memory-scan.js'

const SCANNER: DemoScanner = {
  maker: 'demo',
  model: 'flatbed-a',
  dpi: 250,
  scaleErrorAcross: 0.003,
  scaleErrorAlong: -0.005,
  blurAcrossUm: 30,
  blurAlongUm: 34,
  black: 300,
  gain: 56_000,
  gamma: 1,
  veil: 0.0004,
  readNoise: 12,
  shotNoise: 120,
  flare: 0.002,
  flareReachMm: 8,
  shading: 0.01,
  lamp: 1,
}
const GRID: GridPlan = { pitchMm: 4, columns: 8, rows: 7, mark: 'squares', markMm: 1.2, marginMm: 4 }
const OPEN: LightScale = unknownLightScale(56_300)

interface Lay {
  readonly scanner?: Partial<DemoScanner>
  readonly turn?: number
  readonly mirrored?: boolean
  readonly dirt?: (codes: Uint16Array, width: number) => void
  readonly holder?: BedScan['holder']
}

function laid(plan: Partial<GridPlan>, lay: Lay = {}) {
  const film = gridFilm({ ...GRID, ...plan })
  const scanner = { ...SCANNER, ...lay.scanner }
  const bedWidthMm = film.widthMm + 12
  const bedHeightMm = film.heightMm + 10
  const { codes, width, height } = scanFilm({
    scanner,
    bedWidthMm,
    bedHeightMm,
    film,
    placement: {
      acrossMm: bedWidthMm / 2 + 0.3,
      alongMm: bedHeightMm / 2,
      turnDegrees: lay.turn ?? 1.2,
      mirrored: lay.mirrored ?? false,
    },
    holder: lay.holder ?? null,
    seed: 7,
  })
  lay.dirt?.(codes, width)
  return memoryScan(codes, width, height, scanner.dpi)
}

function measured(plan: Partial<GridPlan> = {}, lay: Lay = {}, told = plan.pitchMm ?? GRID.pitchMm) {
  const nominal = 25_400 / (lay.scanner?.dpi ?? SCANNER.dpi)
  return gridScale(laid(plan, lay), OPEN, { across: nominal, along: nominal }, told)
}

/** 0.01 % is what sizes are asked to; it is 3 um in the grid's 28 mm. */
const SHARE = { abs: 1e-4, unit: 'of the length', because: 'accuracy asked of sizes' }
const ANGLE = { abs: 0.01, unit: 'degrees', because: '0.01 % of a square side is 0.006 degrees' }

function expectScale(seen: ReturnType<typeof gridScale>, across: number, along: number, squareness = 0): void {
  expectWithin(seen.across.value, 1 + across, SHARE)
  expectWithin(seen.along.value, 1 + along, SHARE)
  expectWithin(seen.squareness.value, squareness, ANGLE)
}

describe('gridScale', () => {
  for (const mark of ['squares', 'dots', 'crosses', 'lines'] as const)
    it(`reads scale errors of 0.3 and -0.5 % off a grid of ${mark}`, () => {
      const seen = measured({ mark, markMm: mark === 'lines' || mark === 'crosses' ? 0.3 : 1.2 })
      expectScale(seen, 0.003, -0.005)
      expect(seen.nodes).toBe(56)
      expectWithin(seen.turn, 1.2, {
        abs: 0.02,
        unit: 'degrees',
        because: 'turn of one similarity, scales differ by 0.8 %',
      })
    })

  for (const [turn, mirrored] of [
    [0, false],
    [-8, false],
    [9, true],
  ] as const)
    it(`does so turned by ${turn} degrees${mirrored ? ', wrong side down' : ''}`, () => {
      expectScale(measured({ mark: 'lines', markMm: 0.4 }, { turn, mirrored }), 0.003, -0.005)
    })

  for (const mark of ['squares', 'lines'] as const)
    it(`tells axes that are 0.05 degrees off square from a grid of ${mark}`, () => {
      const lean = { mark, markMm: mark === 'lines' ? 0.3 : 1.2, leanDegrees: 0.05 }
      const scanner = { scaleErrorAcross: 0.001, scaleErrorAlong: 0.002 }
      expectScale(measured(lean, { scanner }), 0.001, 0.002, 0.05)
      expectScale(measured({ ...lean, leanDegrees: -0.05 }, { scanner, turn: -3 }), 0.001, 0.002, -0.05)
    })

  it('its uncertainty covers what it is off, and is small', () => {
    let covered = 0
    let all = 0
    for (let seed = 0; seed < 6; seed++) {
      // Nodes off by 15 um rms: an ordinary plotted grid.
      const shift = (column: number, row: number) => ({
        u: 0.02 * Math.sin(91 * seed + 37 * column + 53 * row * row),
        v: 0.02 * Math.sin(17 * seed + 71 * row + 29 * column * column),
      })
      const seen = measured({ shift }, { scanner: { dpi: 200, blurAcrossUm: 40, blurAlongUm: 40 } })
      expect(seen.across.expanded).toBeLessThan(0.0015)
      for (const [own, truth] of [
        [seen.across, 1.003],
        [seen.along, 0.995],
        [seen.squareness, 0],
      ] as const) {
        all++
        if (Math.abs(own.value - truth) <= own.expanded) covered++
      }
    }
    expect(all).toBe(18)
    expect(covered).toBeGreaterThanOrEqual(16)
  })

  it('shows where the nodes lie off the even grid', () => {
    // The carriage lags by 18 um on the fourth row.
    const seen = measured({ shift: (_, row) => ({ u: 0, v: row === 3 ? 0.018 : 0 }) }, { turn: 0 })
    expect(seen.residuals).toHaveLength(9)
    expectWithin(seen.residualMm, 0.018 * Math.sqrt((1 / 7) * (6 / 7)), {
      abs: 0.0005,
      unit: 'mm',
      because: 'one row of seven is off, the middle one, which leaves the scale alone; noise is 0.3 um',
    })
    const rows = [0, 1, 2].map(r => seen.residuals.slice(3 * r, 3 * r + 3))
    // Rows 3 and 4 of seven make the middle areas, of three rows of areas.
    for (const area of rows[1]!) expect(area.alongMm).toBeGreaterThan(0.004)
    for (const area of [...rows[0]!, ...rows[2]!]) expect(area.alongMm).toBeLessThan(0)
    for (const area of seen.residuals) expect(Math.abs(area.acrossMm)).toBeLessThan(0.001)
  })

  it('leaves out a node under dust, and does without one that is not there', () => {
    const dirt = (codes: Uint16Array, width: number) => {
      // A fibre over the top left node.
      for (let r = 97; r < 116; r++) for (let c = 94; c < 98; c++) codes[r * width + c] = 500
    }
    const seen = measured({ missing: ['4,3', '0,6'] }, { dirt })
    expectScale(seen, 0.003, -0.005)
    expect(seen.nodes).toBeLessThanOrEqual(54)
    expect(seen.nodes).toBeGreaterThanOrEqual(52)
  })

  it('a holder in view does not matter', () => {
    expectScale(measured({}, { holder: { side: 'left', widthMm: 4 } }), 0.003, -0.005)
  })
})

describe('gridScale refuses', () => {
  it('a scan without a grid', () => {
    const empty = memoryScan(new Uint16Array(600 * 500).fill(56_000), 600, 500, 400)
    expect(() => gridScale(empty, OPEN, { across: 63.5, along: 63.5 }, 4)).toThrow(
      /GRID_NOT_FOUND.*no marks 4 mm apart/,
    )
    const small = memoryScan(new Uint16Array(100 * 100).fill(56_000), 100, 100, 400)
    expect(() => gridScale(small, OPEN, { across: 63.5, along: 63.5 }, 4)).toThrow(/GRID_NOT_FOUND/)
  })

  it('another pitch than the one told: twice, half, a little off', () => {
    expect(() => measured({}, {}, 8)).toThrow(/GRID_NOT_FOUND/)
    expect(() => measured({}, {}, 2)).toThrow(/GRID_NOT_FOUND/)
    expect(() => measured({}, {}, 4.12)).toThrow(/GRID_NOT_FOUND.*4\.12 mm/)
    expect(() => measured({ mark: 'lines', markMm: 0.3 }, {}, 2)).toThrow(/GRID_NOT_FOUND/)
  })

  it('a pitch of fewer than 16 pixels, and takes one of 16', () => {
    const at = { scanner: { dpi: 100 } }
    expect(() => measured({}, at)).toThrow(/GRID_NOT_FOUND.*15\.7 px/)
    expectScale(measured({ pitchMm: 4.1 }, at), 0.003, -0.005)
  })

  it('a grid of 4 nodes one way, and takes one of 5', () => {
    expect(() => measured({ rows: 4 })).toThrow(/GRID_TOO_FEW.*8 across and 4 along/)
    expectScale(measured({ rows: 5, columns: 5 }), 0.003, -0.005)
  })

  it('nodes that miss an even grid by 0.12 mm, and takes 0.08', () => {
    const shift = (by: number) => (column: number, row: number) => ({
      u: by * ((column * 5 + row * 3) % 2 === 0 ? 1 : -1),
      v: 0,
    })
    expect(() => measured({ shift: shift(0.12) })).toThrow(/GRID_UNEVEN.*0\.12\d mm \(rms\)/)
    expect(measured({ shift: shift(0.08) }).residualMm).toBeGreaterThan(0.07)
  })

  it('axes 1.2 degrees off square, and takes 0.8', () => {
    expect(() => measured({ leanDegrees: 1.2 })).toThrow(/GRID_UNEVEN.*91\.20 degrees/)
    expectWithin(measured({ leanDegrees: 0.8 }).squareness.value, 0.8, { ...ANGLE, abs: 0.02 })
  })

  it('a pitch that cannot be', () => {
    expect(() => measured({}, {}, 0)).toThrow(RangeError)
    expect(() => measured({}, {}, Number.NaN)).toThrow(RangeError)
  })
})
