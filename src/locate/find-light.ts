import {
  brightestBlock,
  clippedBlocks,
  densityHistogram,
  flatBlocks,
  labelBlocks,
  lightOfLevels,
} from '../imaging/block-light.js'
import type { BlockOverview } from '../imaging/block-overview.js'
import { type ConnectedGroup, type ConnectedRuns, connectedRuns } from '../imaging/label-components.js'

/** What each block of the overview shows. */
// 0 stands for none of these: an edge, a tint, a line.
export const OPEN_LIGHT = 1
export const HOLDER = 2
/** Clear film, flat. */
export const BASE = 3
/** Inked film, flat: a solid, never a tint. */
export const SOLID = 4

export interface Regions {
  /** rows x columns of the overview. */
  readonly labels: Uint8Array
  /** Mean light of open bed; null when none is in view. */
  readonly openLight: number | null
  /** Mean light of clear film; null when there is none. */
  readonly base: number | null
  /** Every block that is film of any kind (base, solid, tint, text): the rest is open light or holder. */
  readonly film: Uint8Array
  /** Share of the clear film's blocks (or of open light's, where there is no film) that hold a pixel at full scale. */
  readonly clippedShare: number
}

/** A block whose light ranges by less than this share of the brightest flat block is flat: neither an edge nor a tint. */
const FLAT_WITHIN = 0.07
/** Solids pass less than this share of the base's light (D 0.4 above base); darker blocks that are flat are ink, not tint. */
const SOLID_BELOW = 0.4
/** Open light and base differ by at least this density; clear film takes 0.02 D or more (two surfaces reflect). */
const LEAST_BASE_STEP = 0.012
/** With a calibration, open light is T = 1 within the drift a lamp may show before the scan is doubted. */
const OPEN_WITHIN = 0.03
/** Lamps drift by less than this, D; beyond it the brightest level is film after all. */
const DRIFTED_WITHIN = 0.12
/** With a lamp that drifted, the second level must be this share of both to be film in an open bed, not a patch of double film. */
const DRIFTED_BASE_SHARE = 0.1
/** Clear film passes more than this; a scan whose brightest flat area passes less shows no base at all. */
const LEAST_BASE_LIGHT = 0.25
/** A mode must hold this share of the flat bright blocks. */
const LEAST_MODE_SHARE = 0.003
const MODE_BIN = 0.003
/** Blocks within this density of a mode's peak belong to it. */
const MODE_HALF_WIDTH = 0.006

/**
 * Tells open bed, opaque holder, clear film and solids apart on the overview.
 * Open light is brighter than any film and reaches the rim or the film's outside; base is the next mode of flat bright
 * blocks. A dark group is the holder when it fills a side of the scan or borders on open light rather than on film.
 * @param light table of light for the overview's codes (`LightScale.transmittance`)
 * @param calibrated whether light 1 means open bed
 */
export function findLight(overview: BlockOverview, light: Float32Array, calibrated: boolean): Regions {
  const { columns, rows } = overview
  const n = columns * rows
  const brightest = brightestBlock(overview.light)
  // On a page dark all over, noise is no structure.
  const flat = flatBlocks(overview, light, FLAT_WITHIN * Math.max(brightest, LEAST_BASE_LIGHT))

  const modes = brightModes(overview, flat, brightest)
  const { open, base } = nameModes(overview, modes, calibrated)

  // Shared, so that another thread gets them without a copy.
  const labels = new Uint8Array(new SharedArrayBuffer(n))
  const film = new Uint8Array(new SharedArrayBuffer(n))
  const splitOpen = open === null ? Number.POSITIVE_INFINITY : base === null ? open * 0.97 : Math.sqrt(open * base)
  // Without base or open light the page is dark all over: ink or holder, told by light alone.
  const reference = base ?? open ?? 1
  const leastBase = base === null ? Number.POSITIVE_INFINITY : base * 0.94
  // The holder is dark against open light, however dark the film itself is.
  const darkBelow = SOLID_BELOW * Math.max(open ?? 0, reference)
  const names = { open: OPEN_LIGHT, base: BASE, solid: SOLID }
  labelBlocks(
    overview.light,
    flat,
    { splitOpen, leastBase, mostSolid: SOLID_BELOW * reference, darkBelow, names },
    { labels, film },
  )
  markHolders(overview, flat, labels, film)
  // Open light without film inside it is a bare bed: nothing below may be called film.
  if (base === null && open !== null && !film.some((f, i) => f === 1 && labels[i] === SOLID)) film.fill(0)
  return { labels, openLight: open, base, film, clippedShare: clippedShare(overview, labels, base === null) }
}

function clippedShare({ clippedShare: ofAll, greatest }: BlockOverview, labels: Uint8Array, noFilm: boolean): number {
  if (ofAll === 0) return 0
  const lit = noFilm ? OPEN_LIGHT : BASE
  let blocks = 0
  for (let i = 0; i < labels.length; i++) if (labels[i] === lit) blocks++
  return blocks > 0 ? clippedBlocks(labels, greatest, lit) / blocks : 0
}

/** Modes of flat bright blocks in density, brightest first: light at the peak and its share. */
function brightModes(overview: BlockOverview, flat: Uint8Array, brightest: number): { light: number; share: number }[] {
  const { light } = overview
  const reach = 0.6
  const bins = Math.ceil(reach / MODE_BIN)
  const least = brightest * 10 ** -reach
  const histogram = densityHistogram(light, flat, { least, brightest, step: MODE_BIN, bins })
  const total = histogram.reduce((sum, count) => sum + count, 0)
  if (total === 0) return []
  const kernel = [1, 2, 3, 2, 1]
  const smooth = Float64Array.from(histogram, (_, k) =>
    kernel.reduce((sum, w, j) => sum + (w / 9) * (histogram[k + j - 2] ?? 0), 0),
  )
  const peaks: { bin: number; height: number }[] = []
  for (let k = 0; k <= bins; k++)
    if (smooth[k]! > 0 && smooth[k]! >= (smooth[k - 1] ?? 0) && smooth[k]! > (smooth[k + 1] ?? 0))
      peaks.push({ bin: k, height: smooth[k]! })
  // Peaks without a real valley between them are one mode.
  const merged: { bin: number; height: number }[] = []
  for (const peak of peaks) {
    const last = merged.at(-1)
    if (last !== undefined) {
      let valley = Number.POSITIVE_INFINITY
      for (let k = last.bin; k <= peak.bin; k++) valley = Math.min(valley, smooth[k]!)
      const near = (peak.bin - last.bin) * MODE_BIN < LEAST_BASE_STEP
      if (near || valley > 0.5 * Math.min(last.height, peak.height)) {
        if (peak.height > last.height) merged[merged.length - 1] = peak
        continue
      }
    }
    merged.push(peak)
  }
  // The mean of what lies within each peak, all in one go: millions of blocks need no sorting.
  const from = merged.map(peak => brightest * 10 ** (-peak.bin * MODE_BIN - MODE_HALF_WIDTH))
  const to = merged.map(peak => brightest * 10 ** (-peak.bin * MODE_BIN + MODE_HALF_WIDTH))
  const { sums, counts } = lightOfLevels(light, flat, from, to)
  return merged
    .map((_, k) => ({ light: sums[k]! / counts[k]!, share: counts[k]! / total, count: counts[k]! }))
    .filter(({ count }) => count > 0 && count >= LEAST_MODE_SHARE * total)
    .sort((a, b) => b.light - a.light)
}

function nameModes(
  overview: BlockOverview,
  modes: readonly { light: number; share: number }[],
  calibrated: boolean,
): { open: number | null; base: number | null } {
  const first = modes[0]
  if (first === undefined || !(first.light >= LEAST_BASE_LIGHT)) return { open: null, base: null }
  // Of the dimmer modes, base is the largest; small ones are light tints or double film.
  const dimmer = modes.slice(1).filter(m => Math.log10(first.light / m.light) >= LEAST_BASE_STEP)
  const second = dimmer.reduce<{ light: number; share: number } | undefined>(
    (best, m) => (best === undefined || m.share > best.share ? m : best),
    undefined,
  )
  const atOne = Math.abs(Math.log10(first.light)) <= OPEN_WITHIN
  if (calibrated) {
    // A lamp that has drifted far still shows two levels, the brighter one at the rim: say so rather than call the bed film.
    const drifted =
      second !== undefined &&
      Math.abs(Math.log10(first.light)) <= DRIFTED_WITHIN &&
      second.share >= DRIFTED_BASE_SHARE * (second.share + first.share) &&
      reachesRim(overview, first.light)
    if (!atOne && !drifted) return { open: null, base: first.light }
    if (second !== undefined) return { open: first.light, base: second.light }
    return Math.abs(Math.log10(first.light)) < LEAST_BASE_STEP
      ? { open: first.light, base: null }
      : { open: null, base: first.light }
  }
  if (second !== undefined && reachesRim(overview, first.light)) return { open: first.light, base: second.light }
  return { open: null, base: first.light }
}

function reachesRim(overview: BlockOverview, level: number): boolean {
  const { columns, rows, light } = overview
  let near = 0
  let rim = 0
  const look = (i: number) => {
    rim++
    if (Math.abs(Math.log10(light[i]! / level)) < 0.008) near++
  }
  for (let c = 0; c < columns; c++) {
    look(c)
    look((rows - 1) * columns + c)
  }
  for (let r = 0; r < rows; r++) {
    look(r * columns)
    look(r * columns + columns - 1)
  }
  return near >= 0.02 * rim
}

/** A dark group that covers this share of a whole side is the holder or lid, not a print. */
const SIDE_COVERED = 0.85

function markHolders({ columns, rows }: BlockOverview, dark: Uint8Array, labels: Uint8Array, film: Uint8Array): void {
  const { runs, groups } = connectedRuns(dark, columns, rows)
  const sides = coveredSides(runs, groups.length, columns, rows)
  for (const group of groups) {
    const of = (side: number) => sides[4 * group.label + side]!
    const fillsSide = Math.max(of(0), of(1)) >= SIDE_COVERED * columns || Math.max(of(2), of(3)) >= SIDE_COVERED * rows
    if (!fillsSide && !bordersOnOpenLight(columns, rows, labels, runs, group)) continue
    for (let at = 0; at < runs.length; at += 4) {
      if (runs[at + 3] !== group.label) continue
      const row = runs[at]! * columns
      labels.fill(HOLDER, row + runs[at + 1]!, row + runs[at + 2]! + 1)
      film.fill(0, row + runs[at + 1]!, row + runs[at + 2]! + 1)
    }
  }
}

/** Blocks that each group has on the first row, the last row, the first column and the last column: four numbers for each label. */
function coveredSides(runs: ConnectedRuns['runs'], groups: number, columns: number, rows: number): Int32Array {
  const sides = new Int32Array(4 * (groups + 1))
  for (let at = 0; at < runs.length; at += 4) {
    const [row, left, right] = [runs[at]!, runs[at + 1]!, runs[at + 2]!]
    const of = 4 * runs[at + 3]!
    if (row === 0) sides[of]! += right - left + 1
    if (row === rows - 1) sides[of + 1]! += right - left + 1
    if (left === 0) sides[of + 2]!++
    if (right === columns - 1) sides[of + 3]!++
  }
  return sides
}

/** Blurred edge blocks lie between a dark group and its surround: look this far out. */
const OUT = 4

/** Whether most of what lies just outside a group is open light: an opaque thing on the bare glass. */
function bordersOnOpenLight(
  columns: number,
  rows: number,
  labels: Uint8Array,
  runs: ConnectedRuns['runs'],
  group: ConnectedGroup,
): boolean {
  const { label, left, top, right, bottom } = group
  if (!openLightNear(columns, rows, labels, group)) return false
  const wide = right - left + 1
  const own = new Uint8Array(wide * (bottom - top + 1))
  for (let at = 0; at < runs.length; at += 4)
    if (runs[at + 3] === label)
      own.fill(1, (runs[at]! - top) * wide + runs[at + 1]! - left, (runs[at]! - top) * wide + runs[at + 2]! - left + 1)
  const isOwn = (r: number, c: number) =>
    r >= top && r <= bottom && c >= left && c <= right && own[(r - top) * wide + c - left] === 1
  let open = 0
  let other = 0
  const look = (r: number, c: number) => {
    if (r < 0 || c < 0 || r >= rows || c >= columns || isOwn(r, c)) return
    if (labels[r * columns + c] === OPEN_LIGHT) open++
    else other++
  }
  for (let r = top; r <= bottom; r++)
    for (let c = left; c <= right; c++) {
      if (own[(r - top) * wide + c - left] === 0) continue
      if (!isOwn(r, c - 1)) look(r, c - OUT)
      if (!isOwn(r, c + 1)) look(r, c + OUT)
      if (!isOwn(r - 1, c)) look(r - OUT, c)
      if (!isOwn(r + 1, c)) look(r + OUT, c)
    }
  return open > other && open > 0
}

function openLightNear(
  columns: number,
  rows: number,
  labels: Uint8Array,
  { left, top, right, bottom }: ConnectedGroup,
): boolean {
  const from = Math.max(0, left - OUT)
  const to = Math.min(columns, right + OUT + 1)
  for (let r = Math.max(0, top - OUT); r <= Math.min(rows - 1, bottom + OUT); r++)
    if (labels.subarray(r * columns + from, r * columns + to).includes(OPEN_LIGHT)) return true
  return false
}
