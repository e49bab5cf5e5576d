import { unknownLightScale } from '../../src/calibrate/light-scale.js'
import { seededRandom } from '../../src/demo/random.js'
import { rippleSpectrum } from '../../src/imaging/ripple-spectrum.js'
import type { FilmEvidence } from '../../src/measure/film-evidence.js'
import type { AxisRipple, SolidRipple } from '../../src/measure/solid-ripple.js'
import { memoryScan } from './memory-scan.js'

/** Side of the solid, mm. */
const SIDE = 13
const TILES = 10

/** Evidence of a film with one solid of 13 mm whose ink ripples along its second axis, made by formula: no scan. */
export function rippled(plan: {
  readonly amplitude: number
  readonly pitchMm: number
  /** Amplitude along the first axis, at 0.9 mm. */
  readonly weaker?: number
  readonly turn?: number
  /** Ripple of the scanner's own on clear film. */
  readonly scannerRipple?: number
  readonly solids?: number
  readonly tooDeep?: number
  /** Tiles as a chessboard. */
  readonly chess?: number
  readonly tileNoise?: number
}): FilmEvidence & { readonly ripple: NonNullable<FilmEvidence['ripple']> } {
  const random = seededRandom(9)
  const turn = plan.turn ?? 6
  const axis = (amplitude: number, pitchMm: number, direction: number): AxisRipple => {
    const stepMm = 0.04
    const strips = Array.from({ length: 8 }, () =>
      Float64Array.from(
        { length: Math.round(SIDE / stepMm) },
        (_, i) => 1 + amplitude * Math.sin((2 * Math.PI * i * stepMm) / pitchMm + 1) + 0.002 * random.normal(),
      ),
    )
    return {
      spectrum: rippleSpectrum({ strips, stepMm, transfer: () => 1, leastPitchMm: 0.28 }),
      direction,
      lengthMm: SIDE,
      widthMm: SIDE,
      blur: 0,
    }
  }
  const area = { id: 'area-1', x: 10, y: 10, turn, first: SIDE, second: SIDE }
  const empty = { strips: [], stepMm: 0.04, widthMm: SIDE }
  const solid: SolidRipple = {
    field: { area, light: 0.001, first: empty, second: empty, tiles: [] },
    net: 3,
    first: axis(plan.weaker ?? 0, 0.9, turn),
    second: axis(plan.amplitude, plan.pitchMm, turn + 90),
    tiles: {
      columns: TILES,
      ink: Float64Array.from({ length: TILES * TILES }, (_, i) => {
        const row = Math.floor(i / TILES)
        const chess = (row + (i % TILES)) % 2 === 0 ? 1 : -1
        return 1 + plan.amplitude * Math.sin(row) + (plan.chess ?? 0) * chess
      }),
      noiseVariance: (plan.tileNoise ?? 0) ** 2,
    },
    scale: 0.005,
    base: 0.003,
  }
  const { solids = 1, tooDeep = 0, scannerRipple } = plan
  return {
    scan: {
      scan: memoryScan(new Uint16Array(1), 1, 1, 600),
      light: unknownLightScale(null),
      umPerPixel: { across: 42, along: 42 },
    },
    solids: [],
    lightest: [],
    bases: [],
    edges: [],
    leftOut: [],
    fringeContours: { low: 0.3, high: 2.7 },
    doubts: { across: [], along: [], steps: [] },
    ripple: {
      solids: new Array<SolidRipple>(solids).fill(solid),
      tooDeep,
      scanner: scannerRipple === undefined ? null : { across: scannerRipple, along: scannerRipple },
    },
  }
}
