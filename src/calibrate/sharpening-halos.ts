import { median, quantile } from '../imaging/robust.js'
import type { OpenScan } from '../model/scan.js'
import type { FoundTablet } from './find-tablet.js'
import type { SeenStep } from './response-curve.js'
import { INNER_SHARE } from './step-codes.js'

/** Overshoot that optics cannot make, as a share of the step: light spreads, it never overshoots. */
const LEAST_SHARE = 0.02
/** Overshoot beyond noise, standard errors. */
const BEYOND_NOISE = 4
/** Overshoot of more than this share of the step is a line between steps, or dust: no sharpening goes so far. */
const MOST_SHARE = 0.6
/** How far from the edge halos are looked for, px: driver sharpening reaches one to ten. */
const REACH_PX = 12
/** Steps whose edge is this much above the noise of a pixel row are looked at. */
const FEWEST_EDGES = 3

/**
 * Looks for sharpening: a bright line on the bright side and a dark line on the dark side of the step edges.
 * A clear or opaque line between steps makes one of the two, never both; light spread makes none.
 * @returns what was seen, one phrase; null when nothing
 */
export function sharpeningHalos(scan: OpenScan, tablet: FoundTablet, steps: readonly SeenStep[]): string | null {
  const bright: number[] = []
  const dark: number[] = []
  const both: number[] = []
  for (let i = 0; i + 1 < steps.length; i++) {
    const seen = overshoot(scan, tablet, steps[i]!, steps[i + 1]!, i)
    if (seen === null) continue
    bright.push(seen.bright)
    dark.push(seen.dark)
    both.push(Math.min(seen.bright, seen.dark))
  }
  if (bright.length < FEWEST_EDGES) return null
  // A narrow halo shows only where the edge falls well between pixels: the upper quarter of the edges speaks for all.
  const [b, d] = [quantile(bright, 0.75), quantile(dark, 0.75)]
  return quantile(both, 0.75) > LEAST_SHARE
    ? `${(100 * b).toFixed(0)} % beyond the brighter step and ${(100 * d).toFixed(0)} % beyond the darker one at ${bright.length} edges`
    : null
}

/** Overshoot of one edge as a share of its height, 0 where noise explains it; null when the edge is too faint. */
function overshoot(
  scan: OpenScan,
  tablet: FoundTablet,
  before: SeenStep,
  after: SeenStep,
  index: number,
): { bright: number; dark: number } | null {
  const height = before.code - after.code
  const halfAcross = (INNER_SHARE / 2) * tablet.widthPx
  const reach = Math.min(REACH_PX, 0.35 * tablet.pitchPx)
  const near = 0.5 * tablet.pitchPx
  const a = tablet.centres[index]!
  const b = tablet.centres[index + 1]!
  const centre = { column: (a.column + b.column) / 2, row: (a.row + b.row) / 2 }
  const spanColumn = Math.abs(tablet.axis.column) * near + Math.abs(tablet.axis.row) * halfAcross
  const spanRow = Math.abs(tablet.axis.row) * near + Math.abs(tablet.axis.column) * halfAcross
  const column = Math.max(0, Math.ceil(centre.column - spanColumn))
  const row = Math.max(0, Math.ceil(centre.row - spanRow))
  const width = Math.min(scan.header.width - 1, Math.floor(centre.column + spanColumn)) - column + 1
  const heightPx = Math.min(scan.header.height - 1, Math.floor(centre.row + spanRow)) - row + 1
  if (width < 1 || heightPx < 1) return null
  const { codes } = scan.readWindow({ column, row, width, height: heightPx })
  const bins = Math.floor(2 * near)
  const sums = new Float64Array(bins)
  const counts = new Float64Array(bins)
  for (let r = 0; r < heightPx; r++)
    for (let c = 0; c < width; c++) {
      const dc = column + c - centre.column
      const dr = row + r - centre.row
      const u = dc * tablet.axis.column + dr * tablet.axis.row
      const v = -dc * tablet.axis.row + dr * tablet.axis.column
      const bin = Math.floor(u + near)
      if (!(Math.abs(v) < halfAcross) || bin < 0 || bin >= bins) continue
      sums[bin]! += codes[r * width + c]!
      counts[bin]!++
    }
  const profile: number[] = []
  const pixels: number[] = []
  for (let i = 0; i < bins; i++)
    if (counts[i]! > 0) {
      profile.push(sums[i]! / counts[i]!)
      pixels.push(counts[i]!)
    }
  if (profile.length < 8) return null
  const noise = (Math.max(before.pixelNoise, after.pixelNoise) / Math.sqrt(median(pixels))) * 1.5
  if (!(height > 20 * noise)) return null
  // The edge itself: where the profile passes half way, nearest the expected place.
  const half = (before.code + after.code) / 2
  let edge = -1
  for (let i = 0; i + 1 < profile.length; i++)
    if (profile[i]! >= half && profile[i + 1]! < half)
      if (edge < 0 || Math.abs(i - profile.length / 2) < Math.abs(edge - profile.length / 2)) edge = i
  if (edge < 0) return null
  let highest = Number.NEGATIVE_INFINITY
  let lowest = Number.POSITIVE_INFINITY
  for (let i = Math.max(0, Math.ceil(edge - reach)); i <= edge; i++) highest = Math.max(highest, profile[i]!)
  for (let i = edge + 1; i <= Math.min(profile.length - 1, edge + 1 + reach); i++)
    lowest = Math.min(lowest, profile[i]!)
  const beyond = (over: number) => (over > BEYOND_NOISE * noise ? over / height : 0)
  const seen = { bright: beyond(highest - before.code), dark: beyond(after.code - lowest) }
  return seen.bright > MOST_SHARE || seen.dark > MOST_SHARE ? null : seen
}
