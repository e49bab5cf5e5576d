import { lightDrift, withoutDrift } from '../../src/calibrate/light-drift.js'
import { lightScale } from '../../src/calibrate/light-scale.js'
import { compareFilms, type FilmScan } from '../../src/compare/compare-films.js'
import type { Film } from '../../src/demo/film.js'
import { type Random, seededRandom } from '../../src/demo/random.js'
import { randomFilm } from '../../src/demo/random-film.js'
import type { BedScan, DemoScanner, Placement } from '../../src/demo/scanner.js'
import { halfLightShift } from '../../src/demo/truth.js'
import { surroundLight } from '../../src/imaging/surround-light.js'
import { locateScan } from '../../src/locate/locate-scan.js'
import type { Calibration } from '../../src/model/calibration.js'
import { openBedScan } from './calibrated-scanner.js'
import { STATED } from './drawn-scanner.js'

/** A make-believe scanner with its calibration. */
export interface CalibratedDemo {
  readonly scanner: DemoScanner
  readonly calibration: Calibration
}

/** What a pair of scans is drawn for. */
export interface PairPlan {
  readonly first: CalibratedDemo
  /** The same as the first: one scanner with one calibration. */
  readonly second: CalibratedDemo
  /** The ink crept between the scans. */
  readonly grown: boolean
  /** The second scan's rim cuts a part of the film off. */
  readonly cut: boolean
}

/** What the comparison said of a pair, and what is true. */
export interface PairOutcome {
  readonly found: ReturnType<typeof compareFilms>
  readonly edgeTruth: number
  readonly spreadTruth: number
  /** How the film lies on the second scan against the first. */
  readonly lies: string
}

/** How far the film lies from where it lay, and by what the pixels of two scanners differ, each axis, either way. */
const SHIFT_MM = [15, 22] as const
const SCALE = [0.003, 0.005] as const
/** Share of the film beyond the scan's rim. */
const CUT_OFF = [0.15, 0.35] as const

/**
 * A film drawn at random and scanned twice: the second time shifted by 15 to 22 mm, at any quarter turn and up to 5 degrees beside it, one side
 * up or the other, on another scanner with axes each 0.3 to 0.5 % longer or shorter (or on the same), lamp and black drifted. Truth from the
 * edge in closed form.
 */
export function growthPair(seed: number, plan: PairPlan): PairOutcome {
  const random = seededRandom(seed * 7919 + 11)
  const { first, second } = plan
  const { film, placement: lay } = randomFilm(seed, { inkSpreadUm: [14, 40], netDensity: [2, 3.4], grain: [0, 0.02] })
  const after: Film = { ...film, inkSpreadUm: film.inkSpreadUm * (plan.grown ? random.between(1.05, 1.5) : 1) }
  const sign = () => (random.uniform() < 0.5 ? -1 : 1)
  const scanner: DemoScanner =
    first === second
      ? second.scanner
      : {
          ...second.scanner,
          scaleErrorAcross: first.scanner.scaleErrorAcross + sign() * random.between(...SCALE),
          scaleErrorAlong: first.scanner.scaleErrorAlong + sign() * random.between(...SCALE),
        }
  const shift = random.between(...SHIFT_MM)
  const way = random.between(0, 2 * Math.PI)
  const moved = { across: shift * Math.cos(way), along: shift * Math.sin(way) }
  const reach = Math.hypot(film.widthMm, film.heightMm) / 2 + 1.5
  // The corner of the glass is as near as the film's two places allow.
  const placement: Placement = {
    acrossMm: reach + Math.max(0, -moved.across),
    alongMm: reach + Math.max(0, -moved.along),
    turnDegrees: lay.turnDegrees,
    mirrored: lay.mirrored,
  }
  const turned: Placement = {
    acrossMm: placement.acrossMm + moved.across,
    alongMm: placement.alongMm + moved.along,
    turnDegrees: lay.turnDegrees + random.pick([0, 90, 180, 270]) + random.between(-5, 5),
    mirrored: lay.mirrored !== random.uniform() < 0.5,
  }
  const onGlass = (of: Film, at: Placement, on: DemoScanner, noise: number): BedScan => ({
    scanner: driftedDay(on, random),
    bedWidthMm: at.acrossMm + reach,
    bedHeightMm: at.alongMm + reach,
    film: of,
    placement: at,
    holder: null,
    seed: noise,
  })
  const whole = onGlass(after, turned, scanner, seed + 17)
  const found = compareFilms(
    look(onGlass(film, placement, first.scanner, seed), first.calibration),
    look(plan.cut ? cutOff(whole, random.between(...CUT_OFF)) : whole, second.calibration),
    { fringeContours: { low: 0.2, high: 1.8 }, sameCalibration: first === second, sameTablet: false },
  )
  const turn = (((turned.turnDegrees - placement.turnDegrees) % 360) + 360) % 360
  return {
    found,
    edgeTruth: halfLightShift(after) - halfLightShift(film),
    spreadTruth: after.inkSpreadUm - film.inkSpreadUm,
    lies: `${first === second ? 'same' : 'other'} scanner${plan.cut ? ', cut off' : ''}, ${shift.toFixed(1)} mm, ${turn.toFixed(1)} degrees${turned.mirrored === placement.mirrored ? '' : ', mirrored'}`,
  }
}

/** The scanner on another day, as far as a calibration allows for it. */
function driftedDay(scanner: DemoScanner, random: Random): DemoScanner {
  return {
    ...scanner,
    lamp: random.between(0.98, 1.02),
    black: scanner.black + STATED.blackDrift * random.normal(),
  }
}

/** The scan's window ends before the film does. */
function cutOff(scan: BedScan, share: number): BedScan {
  const { film, placement } = scan
  const turn = (placement.turnDegrees * Math.PI) / 180
  const across = film.widthMm * Math.abs(Math.cos(turn)) + film.heightMm * Math.abs(Math.sin(turn))
  return { ...scan, bedWidthMm: placement.acrossMm + across / 2 - share * across }
}

/** One scan through its scanner's calibration, looked over, with the lamp's drift taken out as in an inspection. */
export function look(scan: BedScan, calibration: Calibration): FilmScan {
  const um = 25_400 / scan.scanner.dpi
  const scale = lightScale(calibration)
  const located = locateScan({ scan: openBedScan(scan), light: scale, umPerPixel: { across: um, along: um } })
  const drift = lightDrift(calibration, scale, located.regions.openLight)
  const around = surroundLight(located.overview, located.scan.umPerPixel, calibration.flare?.reaches ?? [])
  return {
    scan: {
      ...located.scan,
      light: drift === null ? scale : withoutDrift(scale, drift),
      surround: (column, row) => around.at(column, row).map(s => s / (drift?.factor ?? 1)),
    },
    overview: located.overview,
    regions: located.regions,
    solids: located.patches.solids,
  }
}
