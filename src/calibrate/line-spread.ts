import { blockOverview } from '../imaging/block-overview.js'
import { type EdgeSpread, superSampleEdge } from '../imaging/edge-spread.js'
import { fitLeastSquares } from '../imaging/fit-least-squares.js'
import { lightField } from '../imaging/light-field.js'
import { normalCdf } from '../imaging/normal.js'
import { riseWidth } from '../imaging/rise-width.js'
import { CLEAR, DARK, findStraightEdges, NEITHER, type StraightEdge } from '../imaging/straight-edges.js'
import type { LineSpread } from '../model/calibration.js'
import type { LightScale } from '../model/light.js'
import { ProblemError } from '../model/problem.js'
import type { OpenScan } from '../model/scan.js'

/** Spread of the scanner's light, both directions, and remarks. */
export interface MeasuredLineSpread {
  readonly across: LineSpread | null
  readonly along: LineSpread | null
  readonly warnings: readonly string[]
}

/** An opaque edge: darker than this beside open light brighter than that, T. */
const OPAQUE_BELOW = 0.02
const OPEN_ABOVE = 0.85
const BLOCK_UM = 170
/** Shortest run used, and what is cut off its ends, um: corners of a blade are rounded. */
const LEAST_LENGTH_UM = 4000
const TRIM_UM = 1000
/** Plateau wanted on each side, and read on each side where there is room, um. */
const PLATEAU_UM = 900
const REACH_UM = 1000
const WIDEST_GAP_UM = 900
/** Edges read per direction, longest first. */
const MOST_EDGES = 4
/** A blade bends less than this; what bends more is not straight, um. */
const STRAIGHT_UM = 12
/** A side turned further than this lies neither along the rows nor down the columns, degrees. */
const MOST_TILT = 20
/** Fine nicks look like blur: an edge that wanders by this share of its own sigma is read 2 % too wide; below the least no edge is told from noise, um. */
const WANDER_SHARE = 0.2
const LEAST_WANDER_UM = 2
/** Something opaque this long that is nowhere straight is a damaged blade, um. */
const BLADE_UM = 8000
/** Open light with more of its blocks than this at the top code is clipped; a block at the top is within the other share of it. */
const MOST_CLIPPED = 0.02
const AT_TOP = 0.9995
/** Known less well than this share of itself, a line spread takes nothing out of a film's edge. */
const LEAST_KNOWN = 0.15
/** More of an edge left out than this is dust and nicks, not an edge. */
const MOST_LEFT_OUT = 0.25
/** Light beside the edge that goes this share of the change, and this many standard errors, above open light: optics spread light and never overshoot. */
const HALO_SHARE = 0.02
const HALO_ERRORS = 5
/** How far from the edge halos are looked for, px. */
const HALO_REACH_PX = 12
/** Below this share of sub-pixel phases the profile has holes where it is steepest. */
const LEAST_COVERAGE = 0.8
/** What super-sampling and crossing leave on noise-free edges, um and share of the width (from the tests). */
const METHOD_UM = 0.2
const METHOD_SHARE = 0.004
/** Chi-square per degree of freedom at which an edge fit is as good as the noise lets it be. */
const ENOUGH = 1.3
/** Step and reach of the table of the line spread. */
const STEP_UM = 1
const TABLE_SIGMAS = 4

/**
 * The scanner's line spread from a scan of a razor-straight opaque edge in open light (knife edge; ISO 16067-2 manner),
 * in each direction that has an edge. Codes are made light first. The rise width is the model-free 10-90 % width of the super-sampled edge; the
 * curve is the derivative of a fitted edge, (1 - w) x (Gaussian s1 * pixel) + w x (Gaussian s2 * pixel), with the
 * wider second Gaussian (glare of the glass) only where it lowers the Bayesian information criterion.
 * Assumes an edge without spread of its own, and a pixel that is a box as wide as the pitch.
 * @throws ProblemError EDGE_NOT_FOUND, EDGE_NOT_STRAIGHT, EDGE_NOT_TURNED, EDGE_CLIPPED, EDGE_SHARPENED
 */
export function lineSpread(
  scan: OpenScan,
  light: LightScale,
  umPerPixel: { readonly across: number; readonly along: number },
): MeasuredLineSpread {
  const pitch = (umPerPixel.across + umPerPixel.along) / 2
  const overview = blockOverview(scan, Math.max(1, Math.round(BLOCK_UM / pitch)), light.transmittance)
  const labels = Uint8Array.from(overview.light, t => (t > OPEN_ABOVE ? CLEAR : t < OPAQUE_BELOW ? DARK : NEITHER))
  const [clear, dark] = [labels.includes(CLEAR), labels.includes(DARK)]
  if (!clear) throw new ProblemError('EDGE_NOT_FOUND', 'there is no open light in view')
  if (!dark) {
    const least = overview.light.reduce((low, t) => Math.min(low, t), 1)
    throw new ProblemError(
      'EDGE_NOT_FOUND',
      `nothing is opaque: the darkest place lets ${(100 * least).toFixed(0)} % through`,
    )
  }
  refuseClipped(overview.light, light.transmittance[65_535]!)
  const edges = findStraightEdges(overview, labels, {
    leastLengthPx: LEAST_LENGTH_UM / pitch,
    trimPx: TRIM_UM / pitch,
    leastPlateauPx: PLATEAU_UM / pitch,
    widestGapPx: WIDEST_GAP_UM / pitch,
  })
  if (edges.length === 0) {
    const words = 'nothing opaque with a straight side of 6 mm lies in open light'
    const blade = longestSide(labels, overview.columns) * overview.blockPx * pitch >= BLADE_UM
    throw new ProblemError(blade ? 'EDGE_NOT_STRAIGHT' : 'EDGE_NOT_FOUND', blade ? 'nowhere straight for 6 mm' : words)
  }
  const field = lightField(scan, light.transmittance, umPerPixel)
  const refused: Refusal[] = []
  const spreads: EdgeSpread[] = []
  for (const direction of ['across', 'along'] as const) {
    for (const edge of edges.filter(e => e.direction === direction).slice(0, 3 * MOST_EDGES)) {
      if (spreads.filter(s => s.direction === direction).length >= MOST_EDGES) break
      const spread = superSampleEdge(field, edge, reachOf(edge, umPerPixel))
      const refusal = 'refused' in spread ? damaged(spread.refused) : refusalOf(spread)
      if (refusal !== null) refused.push({ ...refusal, direction })
      else if (!('refused' in spread)) spreads.push(spread)
    }
  }
  refuseHalos(spreads)
  const warnings: string[] = []
  const across = combine(spreads, 'across', warnings, refused)
  const along = combine(spreads, 'along', warnings, refused)
  if (across === null && along === null) {
    const first = refused[0]
    throw new ProblemError(first?.code ?? 'EDGE_NOT_FOUND', first?.words ?? 'no edge gave a whole profile')
  }
  for (const [name, spread, direction] of [
    ['across the bed (along a row)', across, 'across'],
    ['along the carriage', along, 'along'],
  ] as const)
    if (spread === null) {
      const why = refused.find(one => one.direction === direction)?.words
      warnings.push(`Sharpness was not measured ${name}: ${why ?? 'no straight edge lay that way on the edge scan'}.`)
    }
  return { across, along, warnings }
}

/** Why an edge was not used, in words and as the problem it is when there is no other. */
interface Refusal {
  readonly direction: 'across' | 'along'
  readonly code: 'EDGE_NOT_FOUND' | 'EDGE_NOT_STRAIGHT' | 'EDGE_NOT_TURNED'
  readonly words: string
}

function damaged(words: string): Omit<Refusal, 'direction'> {
  return { code: words.includes('damaged') ? 'EDGE_NOT_STRAIGHT' : 'EDGE_NOT_FOUND', words }
}

/** What is wrong with one edge, or null. */
function refusalOf(spread: EdgeSpread): Omit<Refusal, 'direction'> | null {
  const bent = (words: string) => ({ code: 'EDGE_NOT_STRAIGHT' as const, words })
  if (spread.sagUm > STRAIGHT_UM) return bent(`an edge bends by ${spread.sagUm.toFixed(0)} um`)
  if (spread.tilt > MOST_TILT)
    return {
      code: 'EDGE_NOT_FOUND',
      words: `an edge is turned by ${spread.tilt.toFixed(0)} degrees from the rows and columns`,
    }
  const lines = spread.lines + spread.linesLeftOut
  if (!(spread.linesLeftOut <= MOST_LEFT_OUT * lines))
    return bent(`an edge is nicked or dusty in ${((100 * spread.linesLeftOut) / lines).toFixed(0)} % of its length`)
  const wander = wanderOf(spread)
  const sigma = (riseWidth(spread)?.width ?? 0) / 2.5631
  if (wander > Math.max(LEAST_WANDER_UM, WANDER_SHARE * sigma))
    return bent(`an edge wanders by ${wander.toFixed(0)} um (rms), as fine nicks make it`)
  if (!spread.plateauReached) return { code: 'EDGE_NOT_FOUND', words: 'there is too little room beside the edge' }
  return null
}

/** How far the scan lines lie off the edge's own line beyond what noise explains, um rms. */
function wanderOf({ shifts, shiftErrors }: EdgeSpread): number {
  let sum = 0
  for (let i = 0; i < shifts.length; i++) sum += shifts[i]! ** 2 - shiftErrors[i]! ** 2
  return Math.sqrt(Math.max(0, sum / Math.max(1, shifts.length)))
}

/** Longer side of the box about everything opaque, blocks. */
function longestSide(labels: Uint8Array, columns: number): number {
  let [left, right, top, bottom] = [columns, -1, labels.length, -1]
  for (let i = 0; i < labels.length; i++) {
    if (labels[i] !== DARK) continue
    const [c, r] = [i % columns, Math.floor(i / columns)]
    left = Math.min(left, c)
    right = Math.max(right, c)
    top = Math.min(top, r)
    bottom = Math.max(bottom, r)
  }
  return Math.max(right - left, bottom - top) + 1
}

/** Clipped open light makes the edge look steeper than it is. */
function refuseClipped(light: ArrayLike<number>, top: number): void {
  let clear = 0
  let full = 0
  for (let i = 0; i < light.length; i++) {
    if (!(light[i]! > OPEN_ABOVE)) continue
    clear++
    if (light[i]! >= AT_TOP * top) full++
  }
  if (full > MOST_CLIPPED * clear)
    throw new ProblemError(
      'EDGE_CLIPPED',
      `${((100 * full) / clear).toFixed(0)} % of open light is at the top code 65535`,
    )
}

/** Sharpening raises light beside an edge above open light; on most of the edges, for dust lights up none. */
function refuseHalos(spreads: readonly EdgeSpread[]): void {
  const halos = spreads.map(overshoot).filter(share => share > HALO_SHARE)
  if (spreads.length > 0 && halos.length > spreads.length / 2)
    throw new ProblemError(
      'EDGE_SHARPENED',
      `up to ${(100 * Math.max(...halos)).toFixed(0)} % above open light at ${halos.length} of ${spreads.length} edges`,
    )
}

/** Greatest light above the clear plateau in windows of one pixel beside the edge, as a share of the change; 0 where noise explains it. */
function overshoot(spread: EdgeSpread): number {
  const { distance, light, count, pitchUm, clear, dark, clearNoise } = spread
  let most = 0
  for (let at = 0.5; at <= HALO_REACH_PX; at += 0.5) {
    let sum = 0
    let pixels = 0
    for (let i = 0; i < distance.length; i++) {
      if (!(Math.abs(distance[i]! / pitchUm - at) <= 0.5)) continue
      sum += light[i]! * count[i]!
      pixels += count[i]!
    }
    if (pixels === 0) continue
    const over = sum / pixels - clear
    if (over > (HALO_ERRORS * clearNoise) / Math.sqrt(pixels)) most = Math.max(most, over / (clear - dark))
  }
  return most
}

function reachOf(edge: StraightEdge, umPerPixel: { across: number; along: number }) {
  const pitch = edge.direction === 'across' ? umPerPixel.across : umPerPixel.along
  return { clearUm: Math.min(REACH_UM, edge.clearPx * pitch), darkUm: Math.min(REACH_UM, edge.darkPx * pitch) }
}

function combine(
  all: readonly EdgeSpread[],
  direction: 'across' | 'along',
  warnings: string[],
  refused: Refusal[],
): LineSpread | null {
  const own = all.filter(s => s.direction === direction)
  const covered = own.filter(s => s.phaseCoverage >= LEAST_COVERAGE)
  const used = covered.length > 0 ? covered : own
  const seen: { width: number; standard: number; shape: EdgeShape; pitchUm: number }[] = []
  for (const spread of used) {
    const rise = riseWidth(spread)
    const shape = fitEdgeShape(spread)
    if (rise === undefined || shape === null) continue
    const modelled = shapeRise(shape, spread.pitchUm)
    // With phases missing the crossings fall between samples: the fitted edge bridges them better than a parabola.
    const bridged = spread.phaseCoverage < LEAST_COVERAGE
    seen.push({
      width: bridged ? modelled : rise.width,
      standard: Math.hypot(rise.standard, bridged ? Math.abs(modelled - rise.width) : (modelled - rise.width) / 2),
      shape,
      pitchUm: spread.pitchUm,
    })
  }
  if (seen.length === 0) return null
  const n = seen.length
  const width = seen.reduce((sum, s) => sum + s.width, 0) / n
  const own2 = seen.reduce((sum, s) => sum + s.standard ** 2, 0) / n / n
  const scatter2 = n > 1 ? seen.reduce((sum, s) => sum + (s.width - width) ** 2, 0) / (n - 1) / n : 0
  const standard = Math.hypot(Math.sqrt(Math.max(own2, scatter2)), METHOD_UM, METHOD_SHARE * width)
  const tilt = Math.max(...used.map(s => s.tilt)).toFixed(2)
  if (2 * standard > LEAST_KNOWN * width) {
    refused.unshift(
      covered.length === 0
        ? { direction, code: 'EDGE_NOT_TURNED', words: `the edge is turned by ${tilt} degrees only` }
        : { direction, code: 'EDGE_NOT_STRAIGHT', words: 'the parts of the edge do not agree on one sharpness' },
    )
    return null
  }
  if (covered.length === 0)
    warnings.push(
      `The edge lay too straight on the bed (${direction}, ${tilt} degrees): its sharpness is less certain. Turn it by 1 to 5 degrees.`,
    )
  return {
    riseWidth: width,
    riseWidthExpanded: 2 * standard,
    method: Math.hypot(METHOD_UM, METHOD_SHARE * width),
    stepUm: STEP_UM,
    weights: tabulate(
      seen.map(s => ({ shape: s.shape, pitchUm: s.pitchUm, stretch: width / shapeRise(s.shape, s.pitchUm) })),
    ),
  }
}

/** The fitted edge: place, two widths (um, one sigma) and the wider one's weight. */
export interface EdgeShape {
  readonly place: number
  readonly sigma: number
  readonly wideSigma: number
  readonly wideWeight: number
}

/**
 * Fits the edge shape to a profile, in light. The second Gaussian is kept only where it explains more than its two
 * constants are worth (Schwarz, Ann. Statist. 6, 461, 1978).
 * @returns null when the plateaus are not told apart
 */
export function fitEdgeShape(profile: EdgeSpread): EdgeShape | null {
  const change = profile.clear - profile.dark
  const rise = riseWidth(profile)
  if (!(change > 0) || rise === undefined) return null
  const box = profile.pitchUm
  const places = Array.from(profile.distance)
  const sigmas = places.map((_, i) => {
    const share = Math.min(1, Math.max(0, (profile.light[i]! - profile.dark) / change))
    const noise = profile.darkNoise + (profile.clearNoise - profile.darkNoise) * share
    // Binning leaves a few parts in ten thousand of the change, noise or not.
    return Math.hypot(noise / Math.sqrt(profile.count[i]!), 5e-4 * change)
  })
  const residuals = (p: readonly number[]) => {
    const shape = shapeOf(p)
    return places.map((x, i) => (p[2]! + (p[3]! - p[2]!) * edgeShapeAt(shape, box, x) - profile.light[i]!) / sigmas[i]!)
  }
  const start = Math.max(0.2 * box, Math.sqrt(Math.max(0, (rise.width / 2.563) ** 2 - box ** 2 / 12)))
  const middle = (rise.at10 + rise.at90) / 2
  const single = fitLeastSquares(
    residuals,
    [middle, Math.log(start), profile.dark, profile.clear],
    [1, 0.1, change, change],
  )
  const fits = [single]
  for (const [times, weight] of [
    [4, 0.05],
    [2, 0.1],
    [8, 0.03],
  ] as const) {
    // Once the noise is all that is left, a wider part would only be made of noise.
    if (fits.some(f => f.chiSquare <= ENOUGH * f.freedom)) break
    const p = single.parameters
    fits.push(
      fitLeastSquares(
        residuals,
        [p[0]!, p[1]!, p[2]!, p[3]!, Math.log(times), weight],
        [1, 0.1, change, change, 0.3, 0.05],
        q => q[4]! > Math.log(1.2) && q[4]! < Math.log(20) && q[5]! >= 0 && q[5]! < 0.5,
      ),
    )
  }
  // One scale for all: what the best of them leaves, but never less than the noise.
  const scale = Math.max(1, Math.min(...fits.map(f => f.chiSquare / Math.max(1, f.freedom))))
  const score = (f: (typeof fits)[number]) => f.chiSquare / scale + f.parameters.length * Math.log(places.length)
  return shapeOf(fits.reduce((best, f) => (score(f) < score(best) ? f : best)).parameters)
}

function shapeOf(p: readonly number[]): EdgeShape {
  const sigma = Math.exp(p[1]!)
  return { place: p[0]!, sigma, wideSigma: p.length > 4 ? sigma * Math.exp(p[4]!) : sigma, wideWeight: p[5] ?? 0 }
}

/** Light of a unit edge of that shape through a pixel of `boxUm`, at x um. */
export function edgeShapeAt(shape: EdgeShape, boxUm: number, x: number): number {
  const near = boxedEdge(x - shape.place, shape.sigma, boxUm)
  if (shape.wideWeight === 0) return near
  return (1 - shape.wideWeight) * near + shape.wideWeight * boxedEdge(x - shape.place, shape.wideSigma, boxUm)
}

/**
 * Unit step blurred by a Gaussian of `sigma` and averaged over a box of `box`:
 * (sigma / box) [G((x + box/2) / sigma) - G((x - box/2) / sigma)], G(z) = z Phi(z) + phi(z). Closed form.
 */
export function boxedEdge(x: number, sigma: number, box: number): number {
  // Most of a profile is plateau: there the integral is its limit to 1e-15.
  const integral = (z: number) =>
    z > FAR_SIGMAS ? z : z < -FAR_SIGMAS ? 0 : z * normalCdf(z) + Math.exp(-z * z * 0.5) / Math.sqrt(2 * Math.PI)
  return (sigma / box) * (integral((x + box / 2) / sigma) - integral((x - box / 2) / sigma))
}

const FAR_SIGMAS = 8

/** 10-90 % width of the fitted edge, um, by bisection. */
export function shapeRise(shape: EdgeShape, boxUm: number): number {
  const reach = 6 * Math.max(shape.sigma, shape.wideSigma) + boxUm
  const at = (level: number): number => {
    let low = shape.place - reach
    let high = shape.place + reach
    for (let i = 0; i < 60; i++) {
      const middle = (low + high) / 2
      if (edgeShapeAt(shape, boxUm, middle) < level) low = middle
      else high = middle
    }
    return (low + high) / 2
  }
  return at(0.9) - at(0.1)
}

/** Mean of the fitted line spreads, each stretched to the measured rise width, as a centred table that sums to 1. */
function tabulate(
  shapes: readonly { readonly shape: EdgeShape; readonly pitchUm: number; readonly stretch: number }[],
): number[] {
  let reach = 0
  for (const { shape, pitchUm } of shapes) {
    const widest = shape.wideWeight > 0 ? shape.wideSigma : shape.sigma
    reach = Math.max(reach, TABLE_SIGMAS * widest + pitchUm / 2)
  }
  const half = Math.ceil(reach / STEP_UM)
  const weights: number[] = []
  for (let k = -half; k <= half; k++) {
    let sum = 0
    for (const { shape, pitchUm, stretch } of shapes) {
      const edge = (x: number) => edgeShapeAt({ ...shape, place: 0 }, pitchUm, x / stretch)
      sum += edge((k + 0.5) * STEP_UM) - edge((k - 0.5) * STEP_UM)
    }
    weights.push(sum)
  }
  const total = weights.reduce((sum, w) => sum + w, 0)
  return weights.map(w => w / total)
}
