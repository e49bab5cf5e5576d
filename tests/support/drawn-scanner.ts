import { calibrateScanner } from '../../src/calibrate/calibrate-scanner.js'
import { parseCertificate } from '../../src/calibrate/certificate.js'
import { withPixelSize } from '../../src/calibrate/pixel-size.js'
import type { Film, Shape } from '../../src/demo/film.js'
import { gridFilm } from '../../src/demo/grid.js'
import { knifeEdge } from '../../src/demo/knife-edge.js'
import { type Random, seededRandom } from '../../src/demo/random.js'
import type { BedScan, DemoScanner } from '../../src/demo/scanner.js'
import { certificateCsv, evenSteps, stepTablet } from '../../src/demo/tablet.js'
import { type FilmEdge, filmRise, fringeWidth, lightContour } from '../../src/demo/truth.js'
import { median } from '../../src/imaging/robust.js'
import type { Calibration } from '../../src/model/calibration.js'
import { openBedScan } from './calibrated-scanner.js'

/** What a budget says of each influence quantity; every draw below comes from these. */
export const STATED = {
  /** Drift of black between scans, codes, one sigma (calibrate/deepest-density.ts). */
  blackDrift: 1.5,
  /** Open light against the light under the film, share, one sigma (calibrate/light-drift.ts). */
  openEvenness: 0.003,
  /** Share of the lamp's drift that white alone does not tell, one sigma. */
  driftCorrection: 0.1,
  /** Pixel size without a grid: half-width of what the resolution says, share, rectangular (calibrate/pixel-size.ts). */
  resolution: 0.005,
  /** Pitch of a grid: U, share (calibrate/pixel-size.ts). */
  gridPitch: 0.0005,
} as const

/** A make-believe scanner drawn at random. */
export interface DrawnScanner {
  readonly scanner: DemoScanner
  /** Whether its pixel size was measured on a grid. */
  readonly grid: boolean
  /** A calibration from its scans of a tablet, a knife edge and mostly a grid, each time by another certificate that errs anew. */
  calibrate(seed: number): Calibration
}

/** A film drawn at random as it lies on the scanner, and what is true of it. */
export interface DrawnFilm {
  readonly scan: BedScan
  readonly truth: {
    readonly baseDensity: number
    readonly solidDensity: number
    readonly riseWidth: number
    readonly inkSpread: number
    readonly fringeWidth: number | null
    /** rms, um; 0 for straight edges. */
    readonly raggedness: number
  }
}

export const FRINGE = { low: 0.25, high: 2.25 }

/** Draws a scanner and calibrates it as a shop would, each of its scans with its own black drift and noise. */
export function drawScanner(seed: number): DrawnScanner {
  const random = seededRandom(seed)
  const scanner: DemoScanner = {
    maker: 'Tidewater',
    model: 'flatbed-r',
    dpi: random.uniform() < 0.15 ? 1200 : 600,
    scaleErrorAcross: random.between(-STATED.resolution, STATED.resolution),
    scaleErrorAlong: random.between(-STATED.resolution, STATED.resolution),
    blurAcrossUm: random.between(7, 18),
    blurAlongUm: random.between(7, 18),
    black: random.between(100, 800),
    gain: random.between(52_000, 60_000),
    gamma: random.pick([1, 1, random.between(1, 2.2), 1.8, 2.2]),
    veil: Math.abs(random.normal()) * 3e-4,
    readNoise: random.between(4, 20),
    shotNoise: random.between(60, 250),
    flare: 0,
    flareReachMm: random.between(5, 15),
    shading: 0,
    lamp: 1,
  }
  const lay = (film: Film, turnDegrees: number, holder: BedScan['holder'] = null) => {
    const [bedWidthMm, bedHeightMm] = [film.widthMm + 10, film.heightMm + 7]
    return openBedScan({
      scanner: { ...scanner, black: scanner.black + STATED.blackDrift * random.normal() },
      bedWidthMm,
      bedHeightMm,
      film,
      placement: { acrossMm: bedWidthMm / 2 + 1, alongMm: bedHeightMm / 2, turnDegrees, mirrored: false },
      holder,
      seed: random.whole(),
    })
  }
  const steps = random.pick([21, 31] as const)
  const densities = evenSteps(steps, steps === 21 ? 0.15 : 0.1).map(d => d + 0.01 * random.normal())
  const tablet = stepTablet({ densities, stepMm: 2, widthMm: 5 })
  const tilt = () => random.between(1.5, 5) * (random.uniform() < 0.5 ? -1 : 1)
  const scans = {
    tablet: lay(tablet.film, 0.3 * random.normal(), random.uniform() < 0.6 ? { side: 'left', widthMm: 3 } : null),
    edge: lay(knifeEdge(10, 9), tilt()),
  }
  const pitchMm = 2.5
  // The pitch told errs within its U: the grid is drawn with the true one.
  const grid = gridFilm({
    pitchMm: pitchMm * (1 + (STATED.gridPitch / 2) * random.normal()),
    columns: 6,
    rows: 6,
    mark: 'crosses',
    markMm: 0.4,
    marginMm: 3,
  })
  const gridScan = random.uniform() < 0.6 ? lay(grid, tilt()) : null
  return {
    scanner,
    grid: gridScan !== null,
    calibrate(seed) {
      const calibration = calibrateScanner({
        tablet: scans.tablet,
        tabletSha256: '0'.repeat(64),
        certificate: parseCertificate(certificate(densities, seededRandom(seed)), 'tablet-1'),
        edge: { scan: scans.edge, sha256: '1'.repeat(64) },
        scanner: 'flatbed-r',
        now: new Date('2026-03-02T09:00:00Z'),
        software: 'burngate test',
      })
      if (gridScan === null) return calibration
      return withPixelSize(calibration, { scan: gridScan, sha256: '2'.repeat(64), pitchMm }, undefined)
    },
  }
}

/** What a certificate of U = 0.01 to 0.03 D (k = 2) says of a tablet: half of its variance is common to all steps, half is each step's own. */
function certificate(densities: readonly number[], random: Random): string {
  const expanded = random.pick([0.01, 0.02, 0.03])
  const one = (expanded / 2) * Math.SQRT1_2
  const common = one * random.normal()
  return certificateCsv(
    densities.map(d => Math.max(0.001, d + common + one * random.normal())),
    expanded,
  )
}

/** Draws a film of a few solids and lays it on the scanner: its lamp, black and evenness drift as stated. */
export function drawFilm(seed: number, { scanner }: DrawnScanner): DrawnFilm {
  const random = seededRandom(seed)
  const ragged = random.uniform() < 0.35 ? random.between(1, 6) : 0
  const edge: FilmEdge = {
    baseDensity: random.between(0.03, 0.12),
    netDensity: random.between(1.6, 3.8),
    // The make-believe wander changes across the edge too: only a sharp edge is all of one contour.
    inkSpreadUm:
      ragged > 0 ? random.between(10, 25) : random.uniform() < 0.4 ? random.between(10, 30) : random.between(30, 80),
  }
  const lamp = random.between(0.96, 1.04)
  // Light under the film against the open light beside it: a film that much denser, though it is not.
  const uneven = STATED.openEvenness * random.normal() + STATED.driftCorrection * (lamp - 1) * random.normal()
  const { shapes, widthMm, heightMm } = layout(random)
  const film: Film = {
    widthMm,
    heightMm,
    ...edge,
    baseDensity: edge.baseDensity - Math.log10(1 + uneven),
    shapes,
    ...(ragged > 0 ? { raggedness: { rmsUm: ragged, correlationUm: random.between(100, 250) } } : {}),
  }
  const turn = Math.floor(random.uniform() * 4) * 90 + random.between(0.3, 9) * (random.uniform() < 0.5 ? -1 : 1)
  const angle = (turn * Math.PI) / 180
  const bedWidthMm = widthMm * Math.abs(Math.cos(angle)) + heightMm * Math.abs(Math.sin(angle)) + random.between(3, 6)
  const bedHeightMm = widthMm * Math.abs(Math.sin(angle)) + heightMm * Math.abs(Math.cos(angle)) + random.between(3, 6)
  return {
    scan: {
      scanner: { ...scanner, lamp, black: scanner.black + STATED.blackDrift * random.normal() },
      bedWidthMm,
      bedHeightMm,
      film,
      placement: {
        acrossMm: bedWidthMm / 2,
        alongMm: bedHeightMm / 2,
        turnDegrees: turn,
        mirrored: random.uniform() < 0.5,
      },
      holder: null,
      seed: random.whole(),
    },
    truth: {
      baseDensity: edge.baseDensity,
      solidDensity: edge.baseDensity + edge.netDensity,
      riseWidth: filmRise(edge),
      inkSpread: edge.inkSpreadUm,
      fringeWidth: fringeWidth(edge, FRINGE.low, FRINGE.high),
      raggedness: raggednessOf(film),
    },
  }
}

/**
 * The make-believe wander is drawn between lattice points, so that an edge between two of their rows wanders less than one on a row: its mean
 * square is 3/2 ((1 - t)^2 + t^2) of the told one (demo/ink-field.ts). What is true of the film is the middle one of its edges.
 */
export function raggednessOf(film: Film): number {
  const { raggedness: told, shapes } = film
  if (told === undefined) return 0
  // The 60 % contour lies this far outside the artwork's edge, mm.
  const out = -lightContour(film, 0.6) / 1000
  const edges = shapes.flatMap(shape =>
    shape.kind === 'rectangle'
      ? [shape.u - out, shape.u + shape.width + out, shape.v - out, shape.v + shape.height + out]
      : [],
  )
  return median(
    edges.map(mm => {
      const at = (mm * 1000) / told.correlationUm
      const t = at - Math.floor(at)
      return told.rmsUm * Math.sqrt(1.5 * ((1 - t) ** 2 + t ** 2))
    }),
  )
}

/** Two or three solids, seldom four, each in a cell of its own of 10 mm. */
function layout(random: Random): { shapes: Shape[]; widthMm: number; heightMm: number } {
  const cell = 10
  const [columns, rows] = random.pick([
    [2, 1],
    [2, 1],
    [2, 1],
    [3, 1],
    [2, 2],
  ] as const)
  const shapes: Shape[] = []
  for (let row = 0; row < rows; row++)
    for (let column = 0; column < columns; column++) {
      const width = random.between(5, cell - 2.4)
      const height = random.between(5, cell - 2.4)
      shapes.push({
        kind: 'rectangle',
        u: column * cell + 1.2 + random.uniform() * (cell - 2.4 - width) + 1.5,
        v: row * cell + 1.2 + random.uniform() * (cell - 2.4 - height) + 1.5,
        width,
        height,
      })
    }
  return { shapes, widthMm: columns * cell + 3, heightMm: rows * cell + 3 }
}
