import { describe, expect, it } from 'vitest'
import { glassLight, withEvenLight, withUnevenLight } from '../../../src/calibrate/even-light.js'
import { lightScale } from '../../../src/calibrate/light-scale.js'
import type { Calibration, FlatField } from '../../../src/model/calibration.js'
import { calibratedScanner } from '../../support/calibrated-scanner.js'
import { expectWithin } from '../../support/expect-within.js'
import { QUICK_SCANNER } from '../../support/quick-scanner.js'

const calibration = calibratedScanner(
  { ...QUICK_SCANNER, dpi: 200, gamma: 1.8, veil: 0, readNoise: 10, shotNoise: 100 },
  3,
)
const DPI = { across: 200, along: 200 }
const PX_MM = 25.4 / 200
/** 200 x 100 mm; 0.02 D of fall to either side, 0.01 D from the first row to the last. */
const FLAT: FlatField = {
  scans: [{ sha256: '0'.repeat(64), kind: 'open', density: 0 }],
  widthMm: 200,
  heightMm: 100,
  terms: [
    { across: 2, along: 0, density: 0.02 },
    { across: 0, along: 1, density: 0.005 },
  ],
  standard: 0.0005,
  tested: { left: 10, top: 0, right: 200, bottom: 100 },
  uniformity: { least: -4, greatest: 2, rms: 1 },
  maskedShare: 0.05,
  lateral: { share: 0, standard: 0.0175, measured: false },
  tablet: { across: true, along: true },
  areas: [{ across: 100, along: 50, light: 0, residual: 0 }],
}
/** The tablet lay on the mid-line. */
const middled: Calibration = {
  ...calibration,
  steps: calibration.steps.map(step => ({ ...step, column: 100 / PX_MM - 0.5 })),
}
const size = (widthMm: number, heightMm: number) => ({
  width: Math.round(widthMm / PX_MM),
  height: Math.round(heightMm / PX_MM),
  dpi: DPI,
})
const glass = (flat: Partial<FlatField> = {}, widthMm = 200, heightMm = 100, open = true) =>
  glassLight(middled, { ...FLAT, ...flat }, size(widthMm, heightMm), open)
const pixel = (xMm: number, yMm: number) => ({ column: xMm / PX_MM - 0.5, row: yMm / PX_MM - 0.5 })
const scale = lightScale(calibration)
const density = (flat: ReturnType<typeof glass>, xMm: number, yMm: number, shown: number) =>
  withEvenLight(scale, flat).density(scale.code(10 ** -shown), 0, undefined, [pixel(xMm, yMm)])
const FINE = { abs: 5e-4, unit: 'D', because: 'codes by the smooth scale, read on the knots' }
const part = (seen: ReturnType<typeof density>, name: string) => seen.budget.find(c => c.name === name)!.standard

describe('a scan as large as the flat scan', () => {
  it('has the fall of light at its place taken off', () => {
    expectWithin(glass().lit(pixel(200, 50).column, pixel(200, 50).row), 10 ** -0.02, FINE)
    expectWithin(density(glass(), 200, 50, 1.52).density, 1.5, FINE)
    expectWithin(density(glass(), 100, 100, 1.505).density, 1.5, FINE)
    expect(glass().note).toBeNull()
    expect(glass().placed).toEqual({ across: true, along: true })
  })

  it('carries the map’s own uncertainty, and twice a twentieth of what it corrects', () => {
    expectWithin(part(density(glass(), 100, 50, 1), 'across the glass'), 0.0005, FINE)
    expectWithin(part(density(glass(), 200, 50, 1), 'across the glass'), Math.hypot(0.0005, 0.001), FINE)
  })

  it('takes off the lateral artefact when it was measured, and holds it in U when not', () => {
    const measured = glass({ lateral: { share: 0.02, standard: 0.003, measured: true } })
    expectWithin(density(measured, 200, 50, 2.04 + 0.02).density, 2, FINE)
    expectWithin(part(density(measured, 200, 50, 2.06), 'lateral density'), 0.006, FINE)
    const unknown = density(glass(), 200, 50, 2.02)
    expectWithin(unknown.density, 2, FINE)
    expectWithin(part(unknown, 'lateral density'), 0.035, FINE)
    expectWithin(part(density(glass(), 150, 50, 2.005), 'lateral density'), 0.035 / 4, FINE)
    expectWithin(part(density(glass(), 100, 50, 2), 'lateral density'), 0, FINE)
  })

  it('what the map of a bare film holds of the artefact is not taken off twice', () => {
    const scans = [{ sha256: '0'.repeat(64), kind: 'film' as const, density: 0.1 }]
    const film = glass({ scans, lateral: { share: 0.02, standard: 0.003, measured: true } })
    // The film itself, at the side: its map has 0.002 D of the artefact in it.
    expectWithin(density(film, 200, 50, 0.1 + 0.02).density, 0.1, FINE)
    expectWithin(part(density(film, 200, 50, 0.12), 'lateral density'), 0, FINE)
  })

  it('is less sure where nothing was tested', () => {
    expect(glass().tested(pixel(10.1, 50))).toBe(true)
    expect(glass().tested(pixel(9.9, 50))).toBe(false)
    const inside = part(density(glass(), 10.1, 50, 1), 'across the glass')
    const outside = part(density(glass(), 2, 50, 1), 'across the glass')
    expect(outside).toBeGreaterThan(inside + 0.003)
  })
})

describe('a scan of another size', () => {
  it('as wide: columns are corrected, U holds what rows vary', () => {
    const wide = glass({}, 200, 60)
    expect(wide.placed).toEqual({ across: true, along: false })
    expect(wide.note).toMatch(/not as high as the flat scan \(100.0 mm\): .* by columns only/)
    const seen = density(wide, 200, 10, 1.52)
    expectWithin(seen.density, 1.5, FINE)
    expect(part(seen, 'across the glass')).toBeGreaterThan(0.0015)
  })

  it('as high: rows are', () => {
    const high = glass({}, 60, 100)
    expect(high.placed).toEqual({ across: false, along: true })
    expect(high.note).toMatch(/not as wide as the flat scan \(200.0 mm\)/)
  })

  it('neither: nothing is corrected, a note says so, and U holds the glass', () => {
    const cut = glass({}, 60, 40)
    expect(cut.placed).toEqual({ across: false, along: false })
    expect(cut.note).toMatch(
      /where on the glass it lay is not known.*light varies by 6\.0 % over the glass.*whole width/,
    )
    const seen = density(cut, 30, 20, 1.5)
    expectWithin(seen.density, 1.5, FINE)
    // Open light in view tells the level: at the side 60 mm of the glass differ by 0.0102 D.
    expect(part(seen, 'across the glass')).toBeGreaterThan(0.003)
    expect(part(seen, 'across the glass')).toBeLessThan(0.01)
    expect(part(seen, 'lateral density')).toBeGreaterThan(0.005)
    const dark = density(glass({}, 60, 40, false), 30, 20, 1.5)
    expectWithin(part(dark, 'across the glass'), Math.hypot(0.025 / Math.sqrt(3), 0.0005), {
      abs: 0.001,
      unit: 'D',
      because: 'without open light all of the glass’s 0.025 D',
    })
  })

  it('by more than a pixel or two', () => {
    expect(glass({}, 200.4, 100).placed.across).toBe(true)
    expect(glass({}, 201, 100).placed.across).toBe(false)
  })
})

describe('withUnevenLight', () => {
  it('changes no density, but its uncertainty; a bound gives way by it', () => {
    const uneven = withUnevenLight(scale, 0.01)
    const code = scale.code(10 ** -1)
    expect(uneven.density(code, 0).density).toBe(scale.density(code, 0).density)
    expectWithin(uneven.density(code, 0).standard, Math.hypot(scale.density(code, 0).standard, 0.01), FINE)
    const deep = scale.code(10 ** -5)
    expectWithin(uneven.density(deep, 0).density, scale.density(deep, 0).density - 0.02, FINE)
  })
})
