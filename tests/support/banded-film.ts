import { lightScale } from '../../src/calibrate/light-scale.js'
import type { Film, Shape } from '../../src/demo/film.js'
import { seededRandom } from '../../src/demo/random.js'
import { type BedScan, type DemoScanner, filmToPixel } from '../../src/demo/scanner.js'
import { surroundLight } from '../../src/imaging/surround-light.js'
import { filmTurns } from '../../src/locate/film-turns.js'
import { clearArea, largeSolids } from '../../src/locate/large-solids.js'
import { locateScan } from '../../src/locate/locate-scan.js'
import { type FilmEvidence, gatherEvidence } from '../../src/measure/film-evidence.js'
import { filmTurn } from '../../src/measure/film-turn.js'
import { gatherRipple } from '../../src/measure/gather-ripple.js'
import type { OpenScan } from '../../src/model/scan.js'
import { calibratedScanner, openBedScan } from './calibrated-scanner.js'

export interface BandedFilmPlan {
  readonly seed: number
  readonly dpi: number
  /** Half of peak to peak, share of the ink. */
  readonly amplitude: number
  readonly pitchMm: number
  readonly grain?: Film['grain']
  readonly turnDegrees?: number
  readonly netDensity?: readonly [number, number]
  readonly scanner?: Partial<DemoScanner>
  readonly solidMm?: readonly [number, number]
}

/** A film with a large solid and a few small ones, banded along its feed, on a scanner drawn at random. */
export function bandedFilm(plan: BandedFilmPlan): BedScan {
  const random = seededRandom(plan.seed)
  const long = Math.max(3.3 * plan.pitchMm + 1.4, random.between(12, 18))
  const [wide, high] = plan.solidMm ?? [random.between(10, 16), long]
  const shapes: Shape[] = [
    { kind: 'rectangle', u: 4, v: 4, width: wide, height: high },
    { kind: 'rectangle', u: wide + 7, v: 4, width: 7, height: 8 },
    { kind: 'rectangle', u: wide + 7, v: 15, width: 6, height: 1 },
  ]
  const net = plan.netDensity ?? [1.8, 3]
  const film: Film = {
    widthMm: wide + 20,
    heightMm: high + 8,
    baseDensity: random.between(0.04, 0.1),
    netDensity: random.between(net[0], net[1]),
    inkSpreadUm: random.between(10, 50),
    shapes,
    ...(plan.amplitude > 0 ? { banding: { amplitude: plan.amplitude, pitchMm: plan.pitchMm } } : {}),
    ...(plan.grain === undefined ? {} : { grain: plan.grain }),
  }
  const turnDegrees =
    plan.turnDegrees ?? random.pick([0, 90, 180, 270]) + random.between(0.1, 10) * (random.uniform() < 0.5 ? -1 : 1)
  const t = (turnDegrees * Math.PI) / 180
  const bedWidthMm = film.widthMm * Math.abs(Math.cos(t)) + film.heightMm * Math.abs(Math.sin(t)) + 6
  const bedHeightMm = film.widthMm * Math.abs(Math.sin(t)) + film.heightMm * Math.abs(Math.cos(t)) + 6
  return {
    scanner: {
      maker: 'Tidewater',
      model: 'flatbed-r',
      dpi: plan.dpi,
      scaleErrorAcross: 0,
      scaleErrorAlong: 0,
      blurAcrossUm: random.between(6, 16),
      blurAlongUm: random.between(6, 16),
      black: random.between(100, 800),
      gain: random.between(52_000, 62_000),
      gamma: random.between(1, 2.2),
      veil: random.between(0, 0.0003),
      readNoise: random.between(4, 20),
      shotNoise: random.between(60, 250),
      flare: 0,
      flareReachMm: 10,
      shading: 0,
      lamp: 1,
      ...plan.scanner,
    },
    bedWidthMm,
    bedHeightMm,
    film,
    placement: {
      acrossMm: bedWidthMm / 2,
      alongMm: bedHeightMm / 2,
      turnDegrees,
      mirrored: random.uniform() < 0.5,
    },
    holder: null,
    seed: random.whole(),
  }
}

/** The film scanned, calibrated and looked over, its ripple gathered. `open`: how its scan is made, where more than the scanner's own is wanted. */
export function bandedEvidence(
  bed: BedScan,
  seed: number,
  open: (bed: BedScan) => OpenScan = openBedScan,
): FilmEvidence {
  const calibration = calibratedScanner(bed.scanner, seed, { holder: { side: 'left', widthMm: 3 } })
  const um = 25_400 / bed.scanner.dpi
  const umPerPixel = { across: um, along: um }
  const located = locateScan({ scan: open(bed), light: lightScale(calibration), umPerPixel })
  const around = surroundLight(located.overview, umPerPixel, calibration.flare?.reaches ?? [])
  const scan = { ...located.scan, surround: (column: number, row: number) => around.at(column, row) }
  const evidence = gatherEvidence(scan, { ...located.patches, edges: located.edges }, { low: 0.3, high: 2.7 })
  const turn = filmTurn(evidence.edges, umPerPixel, filmTurns(located)[0] ?? null)
  const areas = turn === null ? [] : largeSolids(located.overview, located.regions, umPerPixel, turn)
  return {
    ...evidence,
    ripple: gatherRipple(evidence, areas, clearArea(located.overview, located.regions, umPerPixel)),
  }
}

/** Direction of the film's feed on the scan, degrees from the rows towards the columns. */
export function feedDirection(bed: BedScan): number {
  const a = filmToPixel(bed, 0, 0)
  const b = filmToPixel(bed, 0, 1)
  return (Math.atan2(b.row - a.row, b.column - a.column) * 180) / Math.PI
}
