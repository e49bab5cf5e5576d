import { solid } from './artwork.js'
import type { Film } from './film.js'
import { type BedScan, type DemoScanner, scanFilm } from './scanner.js'

/** What is true of one step of a make-believe ladder. */
export interface DemoStep {
  readonly level: number
  readonly baseDensity: number
  readonly netDensity: number
  readonly inkSpreadUm: number
  readonly raggednessUm: number
  /** Half the peak-to-peak share of the ink amount. */
  readonly banding: number
}

/** A row of plain patches as a scan of it, in memory. */
export interface DemoRow {
  readonly codes: Uint16Array
  readonly width: number
  readonly height: number
}

export interface DemoRowPlan {
  readonly pitchMm: number
  readonly patchMm: number
  /** How the row is turned, degrees. */
  readonly turnDegrees: number
  /** The darkest patch first. */
  readonly reversed?: boolean
}

/** Pitch of the banding of a make-believe head, mm. */
const BANDING_MM = 1.27
/** Open bed above and below the film, and clear film round the patches, mm. */
const OPEN_MM = 2
const CLEAR_MM = 3

/**
 * One row of patches on one film in an open bed. Every patch has its own ink, spread, raggedness and banding, so each is drawn
 * as a film of its own, one tile beside the other; clear film runs through, and the row's turn with it.
 */
export function ladderRow(scanner: DemoScanner, steps: readonly DemoStep[], plan: DemoRowPlan, seed: number): DemoRow {
  const { pitchMm, patchMm, turnDegrees } = plan
  const turn = (turnDegrees * Math.PI) / 180
  const length = steps.length * pitchMm
  const filmHeight = patchMm + 2 * CLEAR_MM
  const bedHeightMm = filmHeight + 2 * OPEN_MM + length * Math.abs(Math.sin(turn))
  const order = plan.reversed === true ? [...steps].reverse() : steps
  const tiles = order.map((step, i) => {
    // Film so long that its ends lie outside every tile; its patch stands in the tile's middle.
    const film: Film = {
      widthMm: 3 * length,
      heightMm: filmHeight,
      baseDensity: step.baseDensity,
      netDensity: step.netDensity,
      inkSpreadUm: step.inkSpreadUm,
      shapes: [solid(1.5 * length - patchMm / 2, CLEAR_MM, patchMm, patchMm)],
      grain: { rms: 0.006, correlationUm: 90 },
      ...(step.banding > 0 ? { banding: { amplitude: step.banding, pitchMm: BANDING_MM } } : {}),
      ...(step.raggednessUm > 0 ? { raggedness: { rmsUm: step.raggednessUm, correlationUm: 120 } } : {}),
    }
    const along = (i - (order.length - 1) / 2) * pitchMm * Math.tan(turn)
    const scan: BedScan = {
      scanner,
      bedWidthMm: pitchMm,
      bedHeightMm,
      film,
      placement: { acrossMm: pitchMm / 2, alongMm: bedHeightMm / 2 + along, turnDegrees, mirrored: false },
      holder: null,
      seed: seed * 100 + i,
    }
    return scanFilm(scan)
  })
  const height = tiles[0]!.height
  const width = tiles.reduce((sum, tile) => sum + tile.width, 0)
  const codes = new Uint16Array(width * height)
  let left = 0
  for (const tile of tiles) {
    for (let row = 0; row < height; row++)
      codes.set(tile.codes.subarray(row * tile.width, (row + 1) * tile.width), row * width + left)
    left += tile.width
  }
  return { codes, width, height }
}

/** The rows of a scan in memory, a few at a time. */
export function* rowBands({ codes, width, height }: DemoRow): Generator<{ height: number; codes: Uint16Array }> {
  const rows = 64
  for (let row = 0; row < height; row += rows) {
    const count = Math.min(rows, height - row)
    yield { height: count, codes: codes.subarray(row * width, (row + count) * width) }
  }
}

/** What a make-believe film does with ink: the common behaviour of coatings, not any one film's. */
export interface DemoStock {
  readonly baseDensity: number
  /** Density it levels off at, base included. */
  readonly ceiling: number
  /** Level at which 63 % of the darkening is reached. */
  readonly thirst: number
  /** Level beyond which ink runs sideways. */
  readonly hold: number
  readonly spreadUm: number
}

/** What a make-believe mode does: passes fill gaps, two directions roughen edges. */
export interface DemoMode {
  readonly ink: number
  readonly banding: number
  readonly raggednessUm: number
}

/** The truth of one setting: density rises with ink to saturation, banding falls, edges run once the coating is full. Common practice, no source. */
export function demoStep(stock: DemoStock, mode: DemoMode, level: number): DemoStep {
  const over = Math.max(0, level - stock.hold)
  return {
    level,
    baseDensity: stock.baseDensity,
    netDensity: (stock.ceiling - stock.baseDensity) * (1 - Math.exp((-level * mode.ink) / stock.thirst)),
    inkSpreadUm: stock.spreadUm + 0.3 * level + 3.5 * over,
    raggednessUm: mode.raggednessUm + 0.5 * over,
    banding: mode.banding * Math.exp(-level / 6),
  }
}
