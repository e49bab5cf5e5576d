import type { BlockOverview } from '../imaging/block-overview.js'
import type { PlaneMap } from '../imaging/fit-plane-map.js'
import { normalQuantile } from '../imaging/normal.js'
import { median } from '../imaging/robust.js'
import { scaleErrors } from '../measure/scale-errors.js'
import { scannerNodes } from '../measure/scanner-nodes.js'
import type { Comparison, FilmPlacement, GrowthReadingName, StrokePair } from '../model/growth.js'
import type { DensityScan } from '../model/light.js'
import type { Patch } from '../model/located.js'
import type { Component, NotMeasured, Part, Reading } from '../model/reading.js'
import { combineGrowth, expandedOf } from './combine-growth.js'
import { type ComparedStroke, compareStrokes } from './compare-strokes.js'
import { densityLoss } from './density-loss.js'
import { filmLightAt } from './film-light.js'
import { type FilmRegions, inkPicture } from './ink-picture.js'
import { netDensity } from './net-density.js'
import type { StrokeScan } from './pair-strokes.js'
import { placeFilm } from './place-film.js'
import { type Sensitivity, sensitivityOf } from './stroke-sensitivity.js'

export const EDGE_GROWTH_METHOD = 'edgeGrowth@1'
export const FRINGE_GROWTH_METHOD = 'fringeGrowth@1'
export const SPREAD_GROWTH_METHOD = 'spreadGrowth@1'

/** One scan of a film, looked over: what comparing needs of it. */
export interface FilmScan {
  readonly scan: DensityScan
  readonly overview: BlockOverview
  readonly regions: FilmRegions
  readonly solids: readonly Patch[]
}

export interface CompareOptions {
  /** Densities above base between which the fringe lies (ISO 12647-1), D. */
  readonly fringeContours: { readonly low: number; readonly high: number }
  /** Both scans go by one calibration; or by two that go back to one tablet. What is not known of it is then common to both. */
  readonly sameCalibration: boolean
  readonly sameTablet: boolean
}

/** A comparison without its pictures, and what is needed to draw them: map is um of the baseline's scan to um of the new one. */
export type ComparedFilms =
  | {
      readonly outcome: 'compared'
      readonly comparison: Omit<Extract<Comparison, { outcome: 'compared' }>, 'crops' | 'profiles'>
      readonly strokes: readonly ComparedStroke[]
      readonly map: PlaneMap
    }
  | Exclude<Comparison, { outcome: 'compared' }>

/** Share of the places in view of both scans that must show the same. Films of one artwork: all but damaged places; of others: up to a third. */
const SAME_FILM = 0.7
/** Fewer places with a pattern tell no film from another. */
const FEWEST_PLACES = 3
/** Below this share of the baseline in view the reader is told. */
const MOST_IN_VIEW = 0.9
const FEWEST_STROKES = 3
/** What is left of sampling, binning and interpolation, um and shares of a pixel (one sigma; from the truth tests). */
const METHOD_UM = 0.05
const METHOD_PIXELS = 0.004
/** How unevenly a scanner's scale runs over a stroke's width, share of it: 0.1 um a mm. Common practice, no source. */
const LOCAL_SCALE = 1e-4
/** How well the map of the pictures alone knows the scale. */
const PICTURE_SCALE = 5e-4
/** Slope of a profile at half its light, in units of its change over its 10-90 % rise. */
const PROFILE_SLOPE = 0.9
/** A scan nobody calibrated: the share of a growth, and the share of the edge's rise, that its unknown response may make (one sigma). */
const UNKNOWN_RESPONSE = { growth: 0.1, rise: 0.02 }
/** Root mean square misfit that noise and binning leave on a stroke of the model's shape, share of clear light (from the truth tests). */
const USUAL_MISFIT = 0.003
/** A scanner of unknown spread spreads between one pixel and this many. */
const UNKNOWN_SPREAD_PIXELS = 2.5
/** Ink does not creep back: beyond U and this, um, a film with less of it is another print. */
const NEW_PRINT_UM = 1

/**
 * Compares a film with its baseline: lays one on the other, measures the same strokes and the same solids on both, each through its own
 * scanner, and combines them. Edge growth: half the widening of strokes at half the light of clear film, positive outwards
 * from the ink.
 */
export function compareFilms(before: FilmScan, after: FilmScan, options: CompareOptions): ComparedFilms {
  const page = inkPicture(before.overview, before.regions, before.scan.umPerPixel)
  const placed = placeFilm(page, inkPicture(after.overview, after.regions, after.scan.umPerPixel))
  if (placed === null || placed.places < FEWEST_PLACES)
    return {
      outcome: 'notCompared',
      why: 'The two scans show too little in common to lay one film on the other.',
      next: 'scan the whole film, flat on the glass; if the film is all but empty, judge it by eye',
    }
  const { placement } = placed
  if (!(placement.matched >= SAME_FILM))
    return {
      outcome: 'notSameFilm',
      placement,
      why: `Only ${percent(placement.matched)} of the places that both scans show look alike.`,
    }
  const loss = densityLoss(before.scan, after.scan, before.solids, placed.map, options)
  const net = netDensity(before, after, 'value' in loss ? loss : null)
  const own = strokeScan(before, net.before)
  const other = strokeScan(after, net.after)
  const compared = compareStrokes(page, own, other, placed.map)
  const readings: Partial<Record<GrowthReadingName | 'spreadGrowth', Reading>> = {}
  const notMeasured: NotMeasured[] = []
  if ('value' in loss) readings.densityLoss = loss
  else notMeasured.push(loss)
  const { pairs } = compared
  if (pairs.length < FEWEST_STROKES) notMeasured.push(...noStrokes(pairs.length))
  else {
    const sensitivity = sensitivities(pairs, before.scan, after.scan, net.standard)
    const common = { pairs, before: before.scan, after: after.scan, options, sensitivity, scatter: compared.scatter }
    readings.edgeGrowth = edgeGrowth({ ...common, clear: { before: own.clear, after: other.clear } })
    const spread = spreadGrowth(common)
    if (spread !== null) readings.spreadGrowth = spread.reading
    const fringe = fringeGrowth(spread, net, options.fringeContours)
    if ('value' in fringe) readings.fringeGrowth = fringe
    else notMeasured.push(fringe)
  }
  const edge = readings.edgeGrowth
  return {
    outcome: 'compared',
    comparison: {
      outcome: 'compared',
      readings,
      notMeasured,
      placement,
      strokes: pairs.map((pair, i) => strokePair(pair, i, before.scan, after.scan)),
      looksReprinted: edge !== undefined && edge.value + edge.expanded < -NEW_PRINT_UM,
      notes: notes(placement, placed.differing, after.scan, before.scan),
    },
    strokes: pairs,
    map: compared.map,
  }
}

function strokeScan({ scan, regions }: FilmScan, net: number): StrokeScan {
  return {
    fieldAt: (x, y) => filmLightAt(scan, x, y),
    nodes: (nx, ny) => scannerNodes(scan, nx, ny),
    clear: regions.base ?? 1,
    net,
  }
}

function percent(share: number): string {
  return `${Math.round(100 * share)} %`
}

function noStrokes(n: number): NotMeasured[] {
  const because =
    n === 0
      ? 'no stroke or gap with room beside it is in view of both scans'
      : `only ${n === 1 ? 'one stroke is' : `${n} strokes are`} in view of both scans`
  const next =
    'scan the whole film; growth needs at least 3 strokes or gaps of 1 mm length with 0.4 mm of room beside them'
  return [
    { reading: 'edgeGrowth', because, next },
    { reading: 'fringeGrowth', because, next },
  ]
}

interface Strokes {
  readonly pairs: readonly ComparedStroke[]
  readonly before: DensityScan
  readonly after: DensityScan
  readonly options: CompareOptions
  readonly sensitivity: Sensitivity
  /** Of the strokes' middles about the map, um. */
  readonly scatter: number | null
}

function edgeGrowth(of: Strokes & { clear: { before: number; after: number } }): Reading {
  const { pairs, before, after, options, sensitivity, clear } = of
  const changes = pairs.map(pair => ({ value: pair.growth, standard: ownError(pair) }))
  const { value, standard } = combineGrowth(changes)
  const rise = (side: 'before' | 'after') => median(pairs.map(pair => seenRise(pair, side)))
  const width = median(pairs.map(pair => pair.widthBefore))
  const budget: Component[] = [
    { name: 'strokes', standard },
    ...scannerParts(options, sensitivity, 'edge'),
    { name: 'net density', standard: sensitivity.net.edge },
    {
      name: 'response',
      standard: responsePart(
        { light: before.light, clear: clear.before, rise: rise('before') },
        { light: after.light, clear: clear.after, rise: rise('after') },
        options,
        value,
      ),
    },
    { name: 'scale', standard: (width / 2) * (of.scatter === null ? PICTURE_SCALE : LOCAL_SCALE) },
    { name: 'shape', standard: shapePart(pairs) },
    { name: 'method', standard: methodPart(before, after) },
  ]
  return {
    value,
    unit: 'um',
    expanded: expandedOf(budget),
    bound: null,
    n: pairs.length,
    parts: pairs.map((pair, i) => partOf(pair, i, pair.growth, ownError(pair), after)),
    budget,
    method: EDGE_GROWTH_METHOD,
  }
}

/** Strokes narrower than this many sigma share their ink between both edges: their spread is not told apart from their width. */
const NARROWEST_SIGMAS = 4

function spreadGrowth({
  pairs,
  before,
  after,
  options,
  sensitivity,
}: Strokes): { readonly reading: Reading; readonly before: number } | null {
  const wide = pairs.filter(pair => pair.before.model.width > NARROWEST_SIGMAS * pair.before.model.sigma)
  if (wide.length < FEWEST_STROKES) return null
  const changes = wide.map(pair => ({
    value: pair.after.model.sigma - pair.before.model.sigma,
    standard: Math.hypot(pair.before.sigmaError, pair.after.sigmaError),
  }))
  const { value, standard } = combineGrowth(changes)
  const budget: Component[] = [
    { name: 'strokes', standard },
    ...scannerParts(options, sensitivity, 'sigma'),
    { name: 'net density', standard: sensitivity.net.sigma },
    { name: 'shape', standard: 2 * shapePart(pairs) },
    { name: 'method', standard: 2 * methodPart(before, after) },
  ]
  const reading: Reading = {
    value,
    unit: 'um',
    expanded: expandedOf(budget),
    bound: null,
    n: wide.length,
    parts: wide.map(pair =>
      partOf(
        pair,
        pairs.indexOf(pair),
        pair.after.model.sigma - pair.before.model.sigma,
        Math.hypot(pair.before.sigmaError, pair.after.sigmaError),
        after,
      ),
    ),
    budget,
    method: SPREAD_GROWTH_METHOD,
  }
  return { reading, before: median(wide.map(pair => pair.before.model.sigma)) }
}

/** The fringe of an ink edge is its spread times what the two contours leave of it: `sigma x (q(high / net) - q(low / net))`. */
function fringeGrowth(
  spread: { readonly reading: Reading; readonly before: number } | null,
  net: { readonly before: number; readonly after: number },
  { low, high }: CompareOptions['fringeContours'],
): Reading | NotMeasured {
  if (spread === null)
    return {
      reading: 'fringeGrowth',
      because: 'the strokes in view are too narrow to tell their edges’ spread',
      next: 'have solids or strokes of 0.3 mm or more in view',
    }
  const least = Math.min(net.before, net.after)
  if (!(least > high * 1.02))
    return {
      reading: 'fringeGrowth',
      because: `the solids are ${least.toFixed(2)} D above base and do not reach the upper contour at ${high.toFixed(2)} D`,
      next: 'print with more ink; the fringe can be read once the solids are dense enough',
    }
  const { reading, before } = spread
  const factor = (of: number) => normalQuantile(high / of) - normalQuantile(low / of)
  const now = factor(net.after)
  // Where density was lost the contours of the fringe lie further apart, ink spread or not.
  const lost = (now - factor(net.before)) * before
  const width = (value: number) => now * value + lost
  return {
    ...reading,
    value: width(reading.value),
    expanded: now * reading.expanded,
    parts: reading.parts.map(part => ({ ...part, value: width(part.value), expanded: now * part.expanded })),
    budget: reading.budget.map(({ name, standard }) => ({ name, standard: now * standard })),
    method: FRINGE_GROWTH_METHOD,
  }
}

function ownError(pair: ComparedStroke): number {
  return Math.hypot(pair.before.widthError, pair.after.widthError) / 2
}

function scannerParts(options: CompareOptions, s: Sensitivity, key: 'edge' | 'sigma'): Component[] {
  if (options.sameCalibration) return [{ name: 'scanner', standard: s.scannerBoth[key] }]
  return [
    { name: 'scanner then', standard: s.scannerBefore[key] },
    { name: 'scanner now', standard: s.scannerAfter[key] },
  ]
}

/** Rise of an edge as seen, near enough: its own in light and the scanner's. */
function seenRise(pair: ComparedStroke, side: 'before' | 'after'): number {
  return Math.hypot(1.7 * pair[side].model.sigma, pair[side === 'before' ? 'riseBefore' : 'riseAfter'])
}

interface Side {
  readonly light: DensityScan['light']
  readonly clear: number
  readonly rise: number
}

/**
 * Edges are read at half the light of clear film, so an error of the scale at clear film moves that half with it: what moves an edge is the error
 * at half the light less half of that at clear film, over the profile's slope. One source of error on both scans moves both.
 */
function responsePart(before: Side, after: Side, options: CompareOptions, growth: number): number {
  if (!before.light.calibrated || !after.light.calibrated) {
    const rises = options.sameCalibration ? Math.abs(after.rise - before.rise) : Math.hypot(after.rise, before.rise)
    return Math.hypot(UNKNOWN_RESPONSE.growth * growth, UNKNOWN_RESPONSE.rise * rises)
  }
  const tablet = [movedByTablet(before), movedByTablet(after)] as const
  const curve = [movedByCurve(before), movedByCurve(after)] as const
  const apart = ([then, now]: readonly [readonly number[], readonly number[]]) => Math.hypot(...then, ...now)
  const common = ([then, now]: readonly [readonly number[], readonly number[]]) =>
    // Two calibrations by one tablet that do not trust the same steps: nobody can tell which error is which.
    then.length === now.length ? Math.hypot(...now.map((x, k) => x - then[k]!)) : apart([then, now])
  return Math.hypot(
    options.sameCalibration || options.sameTablet ? common(tablet) : apart(tablet),
    options.sameCalibration ? common(curve) : apart(curve),
  )
}

/** By how much each error that the tablet's certificate may hold moves an edge, um (one sigma each). */
function movedByTablet({ light, clear, rise }: Side): readonly number[] {
  return scaleErrors(light.steps ?? []).map(
    error => ((error(clear / 2) - error(clear) / 2) / clear) * (rise / PROFILE_SLOPE),
  )
}

/** The same for the curve's own fit and its black, as far as they are known at half the light. */
function movedByCurve({ light, clear, rise }: Side): readonly number[] {
  const names = light.steps === undefined ? ['tablet', 'fit', 'black'] : ['fit', 'black']
  const { budget } = light.density(light.code(clear / 2), 0)
  return names.map(name => {
    const standard = budget.find(c => c.name === name)?.standard ?? 0
    return (0.5 * Math.LN10 * standard * rise) / PROFILE_SLOPE
  })
}

function methodPart(before: DensityScan, after: DensityScan): number {
  const pitch = (scan: DensityScan) => Math.max(scan.umPerPixel.across, scan.umPerPixel.along)
  return Math.hypot(METHOD_UM, METHOD_PIXELS * Math.hypot(pitch(before), pitch(after)))
}

function sensitivities(
  pairs: readonly ComparedStroke[],
  before: DensityScan,
  after: DensityScan,
  netError: number,
): Sensitivity {
  const wider = (scan: DensityScan) => (nx: number, ny: number) => {
    const { nodes, known } = scannerNodes(scan, nx, ny)
    return known ? 1 + nodes.riseError / nodes.rise : UNKNOWN_SPREAD_PIXELS
  }
  return sensitivityOf(pairs, { before: wider(before), after: wider(after) }, netError)
}

/**
 * Where edges are not of the model's shape (haze, satellites), what the scanner moves of them is known less well; both scans are brought to
 * one blur first, so that only a change of them is left (from trials with ink of two Gaussians).
 */
function shapePart(pairs: readonly ComparedStroke[]): number {
  const misfit = median(pairs.map(pair => Math.max(pair.before.misfit, pair.after.misfit)))
  const rise = median(pairs.map(pair => Math.max(seenRise(pair, 'before'), seenRise(pair, 'after'))))
  return (Math.max(0, misfit - USUAL_MISFIT) * rise) / PROFILE_SLOPE
}

function partOf(pair: ComparedStroke, index: number, value: number, standard: number, after: DensityScan): Part {
  return { id: idOf(index), place: pixel(after, pair.after), value, expanded: 2 * standard, bound: null }
}

const idOf = (index: number) => `stroke-${index + 1}`

function pixel({ umPerPixel }: DensityScan, { x, y }: { readonly x: number; readonly y: number }) {
  return { column: x / umPerPixel.across, row: y / umPerPixel.along }
}

function strokePair(pair: ComparedStroke, index: number, before: DensityScan, after: DensityScan): StrokePair {
  return {
    id: idOf(index),
    kind: pair.stroke.kind,
    place: pixel(after, pair.after),
    before: pixel(before, pair.before),
    widthBeforeUm: pair.widthBefore,
    widthAfterUm: pair.widthAfter,
    spreadBeforeUm: pair.before.model.sigma,
    spreadAfterUm: pair.after.model.sigma,
    growthUm: pair.growth,
    standardUm: ownError(pair),
  }
}

function notes(
  placement: FilmPlacement,
  differing: readonly { readonly x: number; readonly y: number }[],
  after: DensityScan,
  before: DensityScan,
): string[] {
  const found: string[] = []
  if (placement.inView < MOST_IN_VIEW)
    found.push(`Only ${percent(placement.inView)} of what the baseline shows is in view of this scan.`)
  const first = differing[0]
  if (first !== undefined) {
    const { column, row } = pixel(after, first)
    found.push(
      `${differing.length === 1 ? 'One place of 3 mm does' : `${differing.length} places of 3 mm do`} not look as on the baseline, the first at column ${Math.round(column)}, row ${Math.round(row)}: look there for missing or extra ink.`,
    )
  }
  const unknown = [before, after].some(
    scan => scan.light.lineSpread.across === null && scan.light.lineSpread.along === null,
  )
  if (unknown)
    found.push(
      'The blur of the scanner is not known without a knife edge, so growth may hold some of it; calibrate with --edge.',
    )
  return found
}
