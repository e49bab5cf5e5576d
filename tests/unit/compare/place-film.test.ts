import { describe, expect, it } from 'vitest'
import { placeFilm } from '../../../src/compare/place-film.js'
import type { GridPicture } from '../../../src/imaging/find-placement.js'
import { mapped, type PlaneMap } from '../../../src/imaging/fit-plane-map.js'
import { inverseMap } from '../../../src/imaging/inverse-map.js'
import { expectWithin } from '../../support/expect-within.js'

/** Cells of 170 um, as on an overview at 600 dpi. */
const CELL_UM = 170

/** Ink of a film by place, um: [left, top, width, height] of solids. */
type Solids = readonly (readonly [number, number, number, number])[]
const FILM: Solids = [
  [3000, 3000, 9000, 5000],
  [15_000, 3000, 1000, 12_000],
  [19_000, 4000, 12_000, 700],
  [4000, 12_000, 6000, 600],
  [5000, 15_000, 600, 9000],
  [9000, 18_000, 14_000, 1500],
  [26_000, 9000, 5000, 9000],
  [12_000, 22_000, 3000, 5000],
]
const OTHER: Solids = [
  [3000, 9000, 26_000, 2000],
  [3000, 14_000, 5000, 12_000],
  [16_000, 3000, 3000, 3000],
  [13_000, 18_000, 1500, 9000],
  [20_000, 16_000, 10_000, 800],
]

/** Share of a cell that is inked, 5 x 5 looks; `back` takes um of the picture to um of the film. */
function picture(solids: Solids, back: PlaneMap, widthUm: number, heightUm: number): GridPicture {
  const columns = Math.round(widthUm / CELL_UM)
  const rows = Math.round(heightUm / CELL_UM)
  const values = new Float32Array(columns * rows)
  for (let i = 0; i < values.length; i++)
    for (let k = 0; k < 25; k++) {
      const x = ((i % columns) + (k % 5) / 5 - 0.4) * CELL_UM
      const y = (Math.floor(i / columns) + Math.floor(k / 5) / 5 - 0.4) * CELL_UM
      const { x: u, y: v } = mapped(back, x, y)
      if (solids.some(([l, t, w, h]) => u >= l && u < l + w && v >= t && v < t + h)) values[i]! += 1 / 25
    }
  return { columns, rows, values, x0: 0, y0: 0, dx: CELL_UM, dy: CELL_UM }
}

const STRAIGHT: PlaneMap = { x0: 0, y0: 0, xx: 1, yx: 0, xy: 0, yy: 1 }
const before = picture(FILM, STRAIGHT, 34_000, 30_000)

/** Film turned about its middle, mirrored or not, shifted by 20 mm against the baseline, its axes 0.4 % off either way. */
function lying(turnDegrees: number, mirrored: boolean): PlaneMap {
  const t = (turnDegrees * Math.PI) / 180
  const side = mirrored ? -1 : 1
  const [across, along] = [1.004 * side, 0.996]
  const linear = {
    xx: Math.cos(t) * across,
    yx: Math.sin(t) * across,
    xy: -Math.sin(t) * along,
    yy: Math.cos(t) * along,
  }
  const middle = { x: 17_000 + 14_000, y: 15_000 + 14_000 }
  return {
    ...linear,
    x0: middle.x - linear.xx * 17_000 - linear.xy * 15_000,
    y0: middle.y - linear.yx * 17_000 - linear.yy * 15_000,
  }
}

describe('placeFilm', () => {
  it.each([
    [3, false],
    [95, true],
    [-178, false],
    [266, true],
  ])(
    'finds a film turned by %d degrees, mirrored %s, shifted by 20 mm, 0.4 %% longer and shorter',
    (turn, mirrored) => {
      const truth = lying(turn, mirrored)
      const placed = placeFilm(before, picture(FILM, inverseMap(truth), 54_000, 54_000))!
      for (const [x, y] of [
        [3000, 3000],
        [31_000, 3000],
        [5000, 27_000],
        [31_000, 27_000],
      ] as const) {
        const [is, should] = [mapped(placed.map, x, y), mapped(truth, x, y)]
        expectWithin(Math.hypot(is.x - should.x, is.y - should.y), 0, {
          abs: 40,
          unit: 'um',
          because: 'a quarter of a cell: strokes are looked for within 130 um',
        })
      }
      expect(placed.placement.mirrored).toBe(mirrored)
      expect(placed.placement.matched).toBeGreaterThan(0.95)
      expect(placed.placement.inView).toBe(1)
      expectWithin(placed.placement.scale.across, 1.004, { abs: 0.001, unit: '', because: '30 um on 30 mm' })
      expectWithin(placed.placement.scale.along, 0.996, { abs: 0.001, unit: '', because: '30 um on 30 mm' })
    },
  )

  it('tells what is out of view, and matches what is left', () => {
    const truth = lying(4, false)
    const placed = placeFilm(before, picture(FILM, inverseMap(truth), 36_000, 54_000))!
    expect(placed.placement.matched).toBeGreaterThan(0.9)
    expect(placed.placement.inView).toBeGreaterThan(0.5)
    expect(placed.placement.inView).toBeLessThan(0.9)
  })

  it('names the places that do not show the same', () => {
    const truth = lying(2, false)
    // The thick stroke on the right is gone.
    const damaged = FILM.filter(([left]) => left !== 26_000)
    const placed = placeFilm(before, picture(damaged, inverseMap(truth), 54_000, 54_000))!
    expect(placed.placement.matched).toBeLessThan(0.95)
    expect(placed.placement.matched).toBeGreaterThan(0.7)
    const gone = mapped(truth, 28_500, 13_500)
    expect(placed.differing.length).toBeGreaterThan(0)
    for (const { x, y } of placed.differing) expect(Math.hypot(x - gone.x, y - gone.y)).toBeLessThan(8000)
  })

  it('does not take another film for it, and has nothing to say of a blank one', () => {
    const other = placeFilm(before, picture(OTHER, inverseMap(lying(2, false)), 54_000, 54_000))
    expect(other?.placement.matched ?? 0).toBeLessThan(0.7)
    const blank = placeFilm(before, picture([], STRAIGHT, 34_000, 30_000))
    expect(blank?.places ?? 0).toBeLessThan(before.columns)
    expect(blank?.placement.matched ?? 0).toBe(0)
  })
})
