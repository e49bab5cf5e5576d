import { describe, expect, it } from 'vitest'
import { pixelSize, withEarlierSize, withPixelSize } from '../../../src/calibrate/pixel-size.js'
import { gridFilm } from '../../../src/demo/grid.js'
import type { BedScan } from '../../../src/demo/scanner.js'
import type { Calibration } from '../../../src/model/calibration.js'
import { calibratedScanner, openBedScan } from '../../support/calibrated-scanner.js'
import { expectWithin } from '../../support/expect-within.js'

const SCANNER: BedScan['scanner'] = {
  maker: 'demo',
  model: 'flatbed-r',
  dpi: 300,
  scaleErrorAcross: 0.004,
  scaleErrorAlong: -0.001,
  blurAcrossUm: 30,
  blurAlongUm: 30,
  black: 300,
  gain: 56_000,
  gamma: 1.8,
  veil: 0.0004,
  readNoise: 12,
  shotNoise: 120,
  flare: 0,
  flareReachMm: 8,
  shading: 0,
  lamp: 1,
}
const NOMINAL = 25_400 / 300

const calibration = calibratedScanner(SCANNER, 11)
const film = gridFilm({ pitchMm: 5, columns: 6, rows: 6, mark: 'lines', markMm: 0.5, marginMm: 5 })
const grid = {
  scan: openBedScan({
    scanner: SCANNER,
    bedWidthMm: 45,
    bedHeightMm: 45,
    film,
    placement: { acrossMm: 22.5, alongMm: 22.5, turnDegrees: 1, mirrored: false },
    holder: null,
    seed: 3,
  }),
  sha256: '2'.repeat(64),
  pitchMm: 5,
}

describe('withPixelSize', () => {
  const sized = withPixelSize(calibration, grid, undefined)

  it('keeps the size with the scan it came from, seen in light through a bent response', () => {
    expect(sized.size).toMatchObject({ sha256: grid.sha256, dpi: { across: 300, along: 300 }, pitchMm: 5, nodes: 36 })
    const share = { abs: 1e-4, unit: 'of the length', because: 'accuracy asked of sizes' }
    expectWithin(sized.size!.across.value, 1.004, share)
    expectWithin(sized.size!.along.value, 0.999, share)
  })

  it('is what lengths are measured with afterwards', () => {
    const { umPerPixel, note } = pixelSize(sized, { across: 300, along: 300 })
    expectWithin(umPerPixel.across, NOMINAL * 1.004, { abs: 0.01, unit: 'um', because: '0.01 % of 85 um' })
    expectWithin(umPerPixel.along, NOMINAL * 0.999, { abs: 0.01, unit: 'um', because: '0.01 % of 85 um' })
    expect(note).toMatch(
      /grid of 5 mm pitch.*\+0\.(39[5-9]|40[0-5]) ± 0\.\d{3} % and −0\.(09[5-9]|10[0-5]) ± .* % off what 300 dpi says/,
    )
  })

  it('refuses a grid scanned at another resolution, and takes one 1 % off', () => {
    expect(() => withPixelSize(calibration, grid, 400)).toThrow(/GRID_OTHER_SETTING.*400 dpi, the tablet 300 dpi/)
    expect(withPixelSize(calibration, grid, 303).size!.across.value).toBeGreaterThan(1.01)
  })

  it('refuses a file without a resolution', () => {
    const bare = { ...grid.scan, header: { ...grid.scan.header, dpi: null } }
    expect(() => withPixelSize(calibration, { ...grid, scan: bare }, undefined)).toThrow(/RESOLUTION_MISSING/)
  })
})

describe('pixelSize', () => {
  const size: NonNullable<Calibration['size']> = {
    sha256: '2'.repeat(64),
    dpi: { across: 300, along: 300 },
    pitchMm: 5,
    nodes: 36,
    across: { value: 1.01, expanded: 0.0001 },
    along: { value: 1, expanded: 0.0001 },
    squareness: { value: 0, expanded: 0.001 },
    turn: 0,
    residualMm: 0.001,
    residuals: [],
  }

  it('is what the resolution says without a calibration or a grid', () => {
    const within = (name: string) => [{ name, share: 0.005 / Math.sqrt(3), type: 'B', degreesOfFreedom: null }]
    const doubts = { across: within('resolution, across'), along: within('resolution, along') }
    const said = { umPerPixel: { across: NOMINAL, along: NOMINAL }, note: null, doubts }
    expect(pixelSize(null, { across: 300, along: 300 })).toEqual(said)
    expect(pixelSize(calibration, { across: 300, along: 300 })).toEqual(said)
    expect(pixelSize({ ...calibration, size: null }, { across: 300, along: 300 })).toEqual(said)
  })

  it('knows the grid’s fit for each direction and its pitch for both', () => {
    const { doubts } = pixelSize({ ...calibration, size: { ...size, pitchExpandedMm: 0.01 } }, size.dpi)
    expect(doubts.across.map(d => [d.name, d.degreesOfFreedom])).toEqual([
      ['pixel size, across', 8],
      ['grid pitch', null],
    ])
    expect(doubts.along[1]).toEqual({ name: 'grid pitch', share: 0.001, type: 'B', degreesOfFreedom: null })
    // U of 0.0001 by eight degrees of freedom (t95 = 2.306), of 1.01 pixels.
    expect(doubts.across[0]!.share).toBeCloseTo(0.0001 / 2.306 / 1.01, 8)
    const untold = pixelSize({ ...calibration, size }, size.dpi).doubts
    expect(untold.across[1]!.share).toBeCloseTo(0.00025, 12)
  })

  it('does not carry over to another resolution, and says so', () => {
    const other = pixelSize({ ...calibration, size }, { across: 600, along: 600 })
    expect(other.umPerPixel).toEqual({ across: NOMINAL / 2, along: NOMINAL / 2 })
    expect(other.note).toMatch(/measured at 300 dpi, not at this scan’s 600/)
    expect(pixelSize({ ...calibration, size }, { across: 305, along: 305 }).umPerPixel.across).toBeCloseTo(
      (25_400 / 305) * 1.01,
      9,
    )
  })
})

describe('withEarlierSize', () => {
  const size = { ...withPixelSize(calibration, grid, undefined).size!, measuredAt: '2026-01-05T08:00:00.000Z' }
  const earlier: Calibration = { ...calibration, calibratedAt: '2026-02-01T08:00:00.000Z', size }

  it('carries the size over and says from when', () => {
    const carried = withEarlierSize(calibration, earlier)
    expect(carried.size).toEqual(size)
    expect(carried.warnings.at(-1)).toContain('carried over from the calibration of 2026-01-05')
    const { measuredAt: _, ...untold } = size
    expect(withEarlierSize(calibration, { ...earlier, size: untold }).size!.measuredAt).toBe(earlier.calibratedAt)
  })

  it('leaves a calibration alone that has none to carry, one of its own, or another resolution', () => {
    expect(withEarlierSize(calibration, null)).toBe(calibration)
    expect(withEarlierSize(calibration, { ...earlier, size: null })).toBe(calibration)
    const own = { ...calibration, size: { ...size, nodes: 49 } }
    expect(withEarlierSize(own, earlier)).toBe(own)
    const other = { ...earlier, size: { ...size, dpi: { across: 600, along: 600 } } }
    expect(withEarlierSize(calibration, other)).toBe(calibration)
  })
})
