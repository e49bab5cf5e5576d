import type { BlockOverview } from '../imaging/block-overview.js'
import { labelComponents } from '../imaging/label-components.js'

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
  let brightest = 0
  for (let i = 0; i < n; i++) if (overview.light[i]! > brightest) brightest = overview.light[i]!
  // On a page dark all over, noise is no structure.
  const flatWithin = FLAT_WITHIN * Math.max(brightest, LEAST_BASE_LIGHT)
  const flat = new Uint8Array(n)
  for (let r = 0; r < rows; r++) markFlat(overview, r * columns, light, flatWithin, flat)

  const modes = brightModes(overview, flat, brightest)
  const { open, base } = nameModes(overview, modes, calibrated)

  // Shared, so that another thread gets them without a copy.
  const labels = new Uint8Array(new SharedArrayBuffer(n))
  const film = new Uint8Array(new SharedArrayBuffer(n)).fill(1)
  const splitOpen = open === null ? Number.POSITIVE_INFINITY : base === null ? open * 0.97 : Math.sqrt(open * base)
  // Without base or open light the page is dark all over: ink or holder, told by light alone.
  const reference = base ?? open ?? 1
  const leastBase = base === null ? Number.POSITIVE_INFINITY : base * 0.94
  const split = { splitOpen, leastBase, mostSolid: SOLID_BELOW * reference }
  for (let r = 0; r < rows; r++) labelRow(overview, r * columns, flat, split, labels, film)
  // The holder is dark against open light, however dark the film itself is.
  const darkBelow = SOLID_BELOW * Math.max(open ?? 0, reference)
  const dark = new Uint8Array(n)
  for (let i = 0; i < n; i++) if (flat[i] === 1 && overview.light[i]! < darkBelow) dark[i] = 1
  markHolders(overview, dark, labels, film)
  // Open light without film inside it is a bare bed: nothing below may be called film.
  if (base === null && open !== null && !film.some((f, i) => f === 1 && labels[i] === SOLID)) film.fill(0)
  const lit = base === null ? OPEN_LIGHT : BASE
  let blocks = 0
  let clipped = 0
  for (let i = 0; i < n; i++) {
    if (labels[i] !== lit) continue
    blocks++
    if (overview.greatest[i] === 65535) clipped++
  }
  return { labels, openLight: open, base, film, clippedShare: blocks > 0 ? clipped / blocks : 0 }
}

// The loops over every block are small functions of a row each: those are made fast once.

function markFlat(overview: BlockOverview, from: number, light: Float32Array, within: number, flat: Uint8Array): void {
  const { columns, least, greatest } = overview
  for (let i = from; i < from + columns; i++) if (light[greatest[i]!]! - light[least[i]!]! <= within) flat[i] = 1
}

function labelRow(
  overview: BlockOverview,
  from: number,
  flat: Uint8Array,
  { splitOpen, leastBase, mostSolid }: { splitOpen: number; leastBase: number; mostSolid: number },
  labels: Uint8Array,
  film: Uint8Array,
): void {
  const { columns, light } = overview
  for (let i = from; i < from + columns; i++) {
    const value = light[i]!
    if (value > splitOpen) {
      labels[i] = OPEN_LIGHT
      film[i] = 0
    } else if (flat[i] === 0) continue
    else if (value > leastBase) labels[i] = BASE
    else if (value < mostSolid) labels[i] = SOLID
  }
}

/** Modes of flat bright blocks in density, brightest first: light at the peak and its share. */
function brightModes(overview: BlockOverview, flat: Uint8Array, brightest: number): { light: number; share: number }[] {
  const { light } = overview
  const reach = 0.6
  const bins = Math.ceil(reach / MODE_BIN)
  const histogram = new Float64Array(bins + 1)
  let total = 0
  const least = brightest * 10 ** -reach
  const binOf = densityBins(brightest, bins)
  for (let i = 0; i < light.length; i++) {
    const value = light[i]!
    if (!(flat[i] === 1 && value > least)) continue
    histogram[binOf(value)]! += 1
    total++
  }
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
  const sums = new Float64Array(merged.length)
  const counts = new Float64Array(merged.length)
  for (let i = 0; i < light.length; i++) {
    if (flat[i] === 0) continue
    const value = light[i]!
    for (let k = 0; k < sums.length; k++) {
      if (!(value > from[k]! && value < to[k]!)) continue
      sums[k]! += value
      counts[k]! += 1
    }
  }
  return merged
    .map((_, k) => ({ light: sums[k]! / counts[k]!, share: counts[k]! / total, count: counts[k]! }))
    .filter(({ count }) => count > 0 && count >= LEAST_MODE_SHARE * total)
    .sort((a, b) => b.light - a.light)
}

/** Steps of light that a bin of density is first looked up by. */
const LIGHT_STEPS = 4096

/** Bin of density below the brightest, `round(-log10(light / brightest) / MODE_BIN)` cut to 0..bins, without a logarithm for each of millions of blocks. */
function densityBins(brightest: number, bins: number): (light: number) => number {
  // Light at the dim end of each bin.
  const ends = Float64Array.from({ length: bins }, (_, k) => brightest * 10 ** (-(k + 0.5) * MODE_BIN))
  const first = new Int32Array(LIGHT_STEPS + 1)
  for (let step = 0, bin = bins; step <= LIGHT_STEPS; step++) {
    // The brightest that falls into this step.
    while (bin > 0 && ends[bin - 1]! <= ((step + 1) / LIGHT_STEPS) * brightest) bin--
    first[step] = bin
  }
  return light => {
    let bin = first[Math.floor((light / brightest) * LIGHT_STEPS)]!
    while (bin < bins && light < ends[bin]!) bin++
    return bin
  }
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

function markHolders(overview: BlockOverview, dark: Uint8Array, labels: Uint8Array, film: Uint8Array): void {
  const { columns, rows } = overview
  const { labels: group, groups } = labelComponents(dark, columns, rows)
  const side = new Map<number, [number, number, number, number]>()
  const count = (i: number, which: 0 | 1 | 2 | 3) => {
    const g = group[i]!
    if (g === 0) return
    const sides = side.get(g) ?? [0, 0, 0, 0]
    sides[which] += 1
    side.set(g, sides)
  }
  // One block inwards too: the rim's own blocks may be partial.
  for (let c = 0; c < columns; c++) {
    count(c, 0)
    count((rows - 1) * columns + c, 1)
  }
  for (let r = 0; r < rows; r++) {
    count(r * columns, 2)
    count(r * columns + columns - 1, 3)
  }
  for (const g of groups) {
    const sides = side.get(g.label)
    const fillsSide =
      sides !== undefined &&
      (Math.max(sides[0], sides[1]) >= SIDE_COVERED * columns || Math.max(sides[2], sides[3]) >= SIDE_COVERED * rows)
    if (fillsSide || bordersOnOpenLight(overview, labels, group, g)) {
      for (let r = g.top; r <= g.bottom; r++)
        for (let c = g.left; c <= g.right; c++) {
          const i = r * columns + c
          if (group[i] === g.label) {
            labels[i] = HOLDER
            film[i] = 0
          }
        }
    }
  }
}

/** Whether most of what lies just outside a group is open light: an opaque thing on the bare glass. */
function bordersOnOpenLight(
  overview: BlockOverview,
  labels: Uint8Array,
  group: Int32Array,
  g: { label: number; left: number; top: number; right: number; bottom: number },
): boolean {
  const { columns, rows } = overview
  // Blurred edge blocks lie between a dark group and its surround: look this far out.
  const out = 4
  let open = 0
  let other = 0
  const look = (row: number, column: number, dr: number, dc: number) => {
    const r = row + dr * out
    const c = column + dc * out
    if (r < 0 || c < 0 || r >= rows || c >= columns) return
    const i = r * columns + c
    if (group[i] === g.label) return
    if (labels[i] === OPEN_LIGHT) open++
    else other++
  }
  for (let r = g.top; r <= g.bottom; r++)
    for (let c = g.left; c <= g.right; c++) {
      const i = r * columns + c
      if (group[i] !== g.label) continue
      if (c === 0 || group[i - 1] !== g.label) look(r, c, 0, -1)
      if (c === columns - 1 || group[i + 1] !== g.label) look(r, c, 0, 1)
      if (r === 0 || group[i - columns] !== g.label) look(r, c, -1, 0)
      if (r === rows - 1 || group[i + columns] !== g.label) look(r, c, 1, 0)
    }
  return open > other && open > 0
}
