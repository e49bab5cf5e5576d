import { describe, expect, it } from 'vitest'
import { fuseBracket } from '../../src/calibrate/fuse-bracket.js'
import type { Film } from '../../src/demo/film.js'
import { type BedScan, type DemoScanner, filmToPixel } from '../../src/demo/scanner.js'
import { readPatch } from '../../src/measure/read-patch.js'
import { ProblemError } from '../../src/model/problem.js'
import type { OpenScan } from '../../src/model/scan.js'
import { calibratedScanner, openBedScan } from '../support/calibrated-scanner.js'
import { expectWithin } from '../support/expect-within.js'
import { memoryScan } from '../support/memory-scan.js'

const DENSITIES = [2, 2.5, 3, 3.25, 3.5, 3.75, 4, 4.2]
const BASE = 0.04

/** Eight solids of known density, with room between them. */
function steps(): Film {
  const net = 4.2 - BASE
  return {
    widthMm: 4 * 7 + 6,
    heightMm: 2 * 7 + 6,
    baseDensity: BASE,
    netDensity: net,
    inkSpreadUm: 20,
    shapes: DENSITIES.map((density, i) => ({
      kind: 'rectangle' as const,
      u: 3 + (i % 4) * 7 + 1,
      v: 3 + Math.floor(i / 4) * 7 + 1,
      width: 5,
      height: 5,
      ink: (density - BASE) / net,
    })),
  }
}

const scanner: DemoScanner = {
  maker: 'Tidewater',
  model: 'flatbed-r',
  dpi: 600,
  scaleErrorAcross: 0,
  scaleErrorAlong: 0,
  blurAcrossUm: 20,
  blurAlongUm: 22,
  black: 300,
  gain: 56_000,
  gamma: 1,
  veil: 0,
  readNoise: 12,
  shotNoise: 150,
  flare: 0,
  flareReachMm: 10,
  shading: 0,
  lamp: 1,
}

/** Two or three scans of one film, the later ones a fraction of a pixel off. */
function bracket(plan: {
  scanner: DemoScanner
  exposures: readonly number[]
  holder: boolean
  seed: number
  drift?: readonly number[]
}) {
  const film = steps()
  const um = 25_400 / plan.scanner.dpi
  const place = { acrossMm: 23, alongMm: 14, turnDegrees: 2.2, mirrored: false }
  const beds = plan.exposures.map(
    (exposure, k): BedScan => ({
      scanner: { ...plan.scanner, exposure, black: plan.scanner.black + (plan.drift?.[k] ?? 0) },
      bedWidthMm: 44,
      bedHeightMm: 28,
      film,
      placement: { ...place, acrossMm: 23 + (k * 0.37 * um) / 1000, alongMm: 14 - (k * 1.81 * um) / 1000 },
      holder: plan.holder ? { side: 'left', widthMm: 3 } : null,
      seed: plan.seed + k,
    }),
  )
  return { beds, scans: beds.map(openBedScan), um }
}

interface Line {
  truth: number
  read: number
  u: number
  bound: string | null
}

function readAll(plan: Parameters<typeof bracket>[0]) {
  const { beds, scans, um } = bracket(plan)
  const calibration = calibratedScanner(plan.scanner, plan.seed)
  const fused = fuseBracket([...scans].reverse(), calibration, { across: um, along: um })
  const rects = DENSITIES.map((_, i) => {
    const at = filmToPixel(beds[0]!, 3 + (i % 4) * 7 + 3.5, 3 + Math.floor(i / 4) * 7 + 3.5)
    const side = Math.round(3000 / um)
    return { column: Math.round(at.column - side / 2), row: Math.round(at.row - side / 2), width: side, height: side }
  })
  const read = (scan: (typeof scans)[number], light: typeof fused.light) =>
    rects.map((rect, i): Line => {
      const { mean, error } = readPatch(scan, rect)
      const { density, standard, bound } = light.density(mean, error)
      return { truth: DENSITIES[i]!, read: density, u: 2 * standard, bound }
    })
  return { fused, calibration, lines: read(fused.scan, fused.light) }
}

describe('a bracket of exposures 1, 4 and 16, scans fractions of a pixel apart, against its truth', () => {
  const fine = 'wanted with brackets to D 4.0 (0.03 D to D 3.5)'
  for (const [name, change, drift] of [
    ['linear scanner, black drifted between the scans', {}, [1.2, -1.5, 2]],
    ['scanner with gamma 1.8', { gamma: 1.8 }, [0, 1, -1]],
  ] as const)
    it(`${name}, holder in view: D 4.0 is a number`, () => {
      const { fused, lines, calibration } = readAll({
        scanner: { ...scanner, ...change },
        exposures: [1, 4, 16],
        holder: true,
        seed: 300,
        drift,
      })
      expect(fused.darkMeasured).toBe(true)
      expect(calibration.deepest).toBeLessThan(3.6)
      expect(fused.light.deepest).toBeGreaterThanOrEqual(4)
      fused.exposures.forEach((exposure, k) => {
        const ratio = [1, 4, 16][k]!
        expectWithin(exposure.ratio / ratio, 1, { abs: 0.01, unit: '', because: '1 % is 0.004 D' })
        expectWithin(exposure.shift.column, k * 0.37, { abs: 0.05, unit: 'px', because: 'a quarter of 0.2 px' })
        expectWithin(exposure.shift.row, k * -1.81, { abs: 0.05, unit: 'px', because: 'a quarter of 0.2 px' })
      })
      for (const line of lines) {
        expect(line.bound).toBeNull()
        expectWithin(line.read, line.truth, { abs: line.truth <= 3.5 ? 0.03 : 0.05, unit: 'D', because: fine })
        expectWithin(line.read, line.truth, { abs: line.u, unit: 'D', because: 'its own U' })
      }
    })

  it('without a holder a linear scanner gives a bound past its depth, close below the truth', () => {
    const { fused, lines } = readAll({
      scanner,
      exposures: [1, 4, 16],
      holder: false,
      seed: 300,
      drift: [1.2, -1.5, 2],
    })
    expect(fused.darkMeasured).toBe(false)
    for (const line of lines) {
      if (line.bound === null)
        expectWithin(line.read, line.truth, { abs: Math.min(line.u, 0.05), unit: 'D', because: 'U, and 0.05 D' })
      else {
        expect(line.truth).toBeGreaterThan(3.5)
        expect(line.read).toBeLessThanOrEqual(line.truth)
        expectWithin(line.read, line.truth, { abs: 0.1, unit: 'D', because: 'a bound far off decides nothing' })
      }
    }
  })

  it('refuses what is no bracket, each with its own reason', () => {
    const calibration = calibratedScanner(scanner, 300)
    const { scans, um } = bracket({ scanner, exposures: [1, 4], holder: false, seed: 300 })
    const [one, four] = [scans[0]!, scans[1]!]
    const pitch = { across: um, along: um }
    const because = (list: readonly OpenScan[]) => {
      try {
        fuseBracket(list, calibration, pitch)
      } catch (error) {
        if (error instanceof ProblemError) return error.problem.code
        throw error
      }
      return 'accepted'
    }
    const turned = memoryScan(
      four
        .readWindow({ column: 0, row: 0, width: four.header.width, height: four.header.height })
        .codes.slice()
        .reverse(),
      four.header.width,
      four.header.height,
      600,
    )
    const brighter = bracket({ scanner, exposures: [3, 12], holder: false, seed: 300 }).scans
    expect(because([four, one])).toBe('accepted')
    expect(because([one])).toBe('BRACKET_ONE_SCAN')
    expect(because([one, one])).toBe('BRACKET_SAME_EXPOSURE')
    expect(because([one, turned])).toBe('BRACKET_FILMS_DIFFER')
    expect(because([one, { ...four, header: { ...four.header, width: four.header.width - 1 } }])).toBe(
      'BRACKET_SIZES_DIFFER',
    )
    expect(because([one, { ...four, header: { ...four.header, dpi: { across: 1200, along: 1200 } } }])).toBe(
      'BRACKET_SIZES_DIFFER',
    )
    expect(because(brighter)).toBe('BRACKET_CLIPPED')
  })
})
