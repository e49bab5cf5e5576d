import { fitSurface, type Grid, surfaceAt } from '../imaging/fit-surface.js'
import { median, robustDeviation } from '../imaging/robust.js'
import type { PixelPoint } from '../model/geometry.js'
import type { OpenScan } from '../model/scan.js'

/** What the pixels of one even patch say. */
export interface PatchCodes {
  /** Trimmed mean code. */
  readonly code: number
  /** Standard error of that mean, from block means. */
  readonly codeError: number
  /** Standard deviation of a single pixel, codes. */
  readonly pixelNoise: number
  /** Standard deviation that the mean of a 1 mm square would have, codes: block means scaled by area. */
  readonly squareNoise: number
  /** Share of pixels at 65535 and at 0. */
  readonly fullShare: number
  readonly zeroShare: number
  readonly pixels: number
  /** Share of the pixels that were left out as dust. */
  readonly leftOut: number
  /**
   * Standard deviation of the block means about a smooth surface through them, and what independent pixels would leave of it, codes.
   * Flare and lamp fall off evenly over a deep step, dust does not.
   */
  readonly blockSpread: number
  readonly blockNoise: number
}

/** A patch turned with the tablet: half lengths along and across its axis, px. */
export interface Patch {
  readonly centre: PixelPoint
  readonly axis: PixelPoint
  readonly halfAlong: number
  readonly halfAcross: number
}

/** Inner part of a step that is read; the rest is edge, gap and misplacement. */
export const INNER_SHARE = 0.6
/** Trimmed at each end of the block means: a hair or a speck spoils a few blocks of 64. */
const TRIM = 0.1
/** A pixel this many robust deviations off the usual is dust, not noise; a reach below some codes would cut at rounding. */
const DUST = 6
const LEAST_REACH = 8
/** Blocks a side wanted; fewer where the patch is small, for a block must hold more than one pixel's correlation. */
const BLOCKS_A_SIDE = 8
const LEAST_BLOCK_PX = 4

/**
 * Mean code of a patch with its standard error. Pixels far off the usual (dust, hairs) are left out; the patch is cut in blocks along its own axes; the mean is the trimmed
 * mean of the block means and its standard error comes from their winsorised spread, so correlation between
 * neighbouring pixels (up to a block) and slow unevenness are counted. Trimmed mean: Tukey & McLaughlin,
 * Sankhya A 25, 331 (1963); its standard error s_w / ((1 - 2g) sqrt(n)): the same, from memory.
 * Assumes blocks larger than the noise's correlation length.
 * @returns null when the patch leaves the page or holds fewer than 4 blocks
 */
export function patchCodes(scan: OpenScan, patch: Patch, umPerPixel: number): PatchCodes | null {
  const { centre, axis, halfAlong, halfAcross } = patch
  const reachColumn = Math.abs(axis.column) * halfAlong + Math.abs(axis.row) * halfAcross
  const reachRow = Math.abs(axis.row) * halfAlong + Math.abs(axis.column) * halfAcross
  const column = Math.ceil(centre.column - reachColumn)
  const row = Math.ceil(centre.row - reachRow)
  const width = Math.floor(centre.column + reachColumn) - column + 1
  const height = Math.floor(centre.row + reachRow) - row + 1
  if (column < 0 || row < 0 || width < 1 || height < 1) return null
  if (column + width > scan.header.width || row + height > scan.header.height) return null
  const { codes } = scan.readWindow({ column, row, width, height })

  const blocksAlong = Math.max(1, Math.min(BLOCKS_A_SIDE, Math.floor((2 * halfAlong) / LEAST_BLOCK_PX)))
  const blocksAcross = Math.max(1, Math.min(BLOCKS_A_SIDE, Math.floor((2 * halfAcross) / LEAST_BLOCK_PX)))
  const sums = new Float64Array(blocksAlong * blocksAcross)
  const squares = new Float64Array(sums.length)
  const counts = new Float64Array(sums.length)
  // Sums about a usual code keep the squares small beside the variance; dust and hairs lie far from it.
  const { origin, reach } = usualCodes(codes)
  let full = 0
  let zero = 0
  let pixels = 0
  for (let r = 0; r < height; r++)
    for (let c = 0; c < width; c++) {
      const dc = column + c - centre.column
      const dr = row + r - centre.row
      const u = dc * axis.column + dr * axis.row
      const v = -dc * axis.row + dr * axis.column
      if (!(Math.abs(u) < halfAlong && Math.abs(v) < halfAcross)) continue
      const code = codes[r * width + c]!
      const block =
        Math.floor(((v + halfAcross) / (2 * halfAcross)) * blocksAcross) * blocksAlong +
        Math.floor(((u + halfAlong) / (2 * halfAlong)) * blocksAlong)
      pixels++
      if (code === 65535) full++
      else if (code === 0) zero++
      const off = code - origin
      if (!(Math.abs(off) <= reach)) continue
      sums[block]! += off
      squares[block]! += off * off
      counts[block]!++
    }
  const means: number[] = []
  const counted: number[] = []
  const values = new Float64Array(sums.length)
  const variances: number[] = []
  for (let b = 0; b < sums.length; b++) {
    const n = counts[b]!
    if (n < 4) continue
    const mean = sums[b]! / n
    means.push(origin + mean)
    counted.push(b)
    values[b] = mean
    variances.push(((squares[b]! / n - mean * mean) * n) / (n - 1))
  }
  if (means.length < 4) return null
  const grid = { columns: blocksAlong, rows: blocksAcross, values, u: middles(blocksAlong), v: middles(blocksAcross) }
  const blockSpread = deviationOf(aboutSurface(grid, counted))
  means.sort((a, b) => a - b)
  const drop = Math.floor(means.length * TRIM)
  let sum = 0
  for (let i = drop; i < means.length - drop; i++) sum += means[i]!
  const code = sum / (means.length - 2 * drop)
  const deviation = deviationOf(means)
  const blockMm2 = ((2 * halfAlong * 2 * halfAcross) / sums.length) * (umPerPixel / 1000) ** 2
  let within = 0
  for (let b = 0; b < counts.length; b++) within += counts[b]!
  const pixelNoise = Math.sqrt(Math.max(0, median(variances)))
  return {
    code,
    codeError: deviation / Math.sqrt(means.length),
    pixelNoise,
    squareNoise: deviation * Math.sqrt(Math.min(1, blockMm2)),
    fullShare: full / pixels,
    zeroShare: zero / pixels,
    pixels,
    leftOut: 1 - within / pixels,
    blockSpread,
    blockNoise: pixelNoise / Math.sqrt(within / sums.length),
  }
}

/** Winsorised standard deviation, made whole again for the trimmed ends. */
function deviationOf(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b)
  const drop = Math.floor(sorted.length * TRIM)
  const low = sorted[drop]!
  const high = sorted[sorted.length - 1 - drop]!
  const winsorised = sorted.map(value => Math.min(Math.max(value, low), high))
  const middle = winsorised.reduce((total, value) => total + value, 0) / winsorised.length
  let spread = 0
  for (const value of winsorised) spread += (value - middle) ** 2
  return Math.sqrt(spread / (winsorised.length - 1)) / (1 - 2 * TRIM * (drop > 0 ? 1 : 0))
}

/** Blocks needed for a surface with a bend to say nothing of dust, and the order of the surface. */
const SURFACE_BLOCKS = 16
const SURFACE_ORDER = 2

/** What a smooth surface through the block means (least squares) leaves of them. */
function aboutSurface(grid: Grid, counted: readonly number[]): number[] {
  const weights = new Uint8Array(grid.columns * grid.rows)
  for (const block of counted) weights[block] = 1
  const bent = counted.length >= SURFACE_BLOCKS && Math.min(grid.columns, grid.rows) > SURFACE_ORDER
  const surface = fitSurface(grid, weights, bent ? SURFACE_ORDER : 0)
  return counted.map(
    block =>
      grid.values[block]! -
      surfaceAt(surface, grid.u[block % grid.columns]!, grid.v[Math.floor(block / grid.columns)]!),
  )
}

/** Middles of so many cells from -1 to 1. */
function middles(count: number): number[] {
  return Array.from({ length: count }, (_, i) => (2 * i + 1) / count - 1)
}

/** Pixels looked at to tell what is usual in a patch. */
const USUAL_SAMPLES = 4000

/** The median code of the window, and how far from it a code may lie to count: both sides alike, so the mean stays put. */
function usualCodes(codes: Uint16Array): { origin: number; reach: number } {
  const stride = Math.max(1, Math.floor(codes.length / USUAL_SAMPLES))
  const sample: number[] = []
  for (let i = 0; i < codes.length; i += stride) sample.push(codes[i]!)
  return { origin: Math.round(median(sample)), reach: Math.max(LEAST_REACH, DUST * robustDeviation(sample)) }
}
