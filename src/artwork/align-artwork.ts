import type { PlaneMap } from '../imaging/fit-plane-map.js'
import { type InkGrid, reducedGrid, smoothedGrid } from '../imaging/ink-grid.js'
import { inverseMap } from '../imaging/inverse-map.js'
import type { ArtworkAlignment, ArtworkBitmap, ArtworkFit, ShiftField, SizeRatio } from '../model/artwork.js'
import { MM_PER_INCH } from '../model/geometry.js'
import type { DensityScan } from '../model/light.js'
import { artworkGrid } from './artwork-grid.js'
import { CELLS, edgeDisplacements } from './edge-displacements.js'
import { type FoundArtwork, findArtwork } from './find-artwork.js'
import { type EdgeFit, fitEdges } from './fit-edges.js'
import { agreement, fitOverview, likeness } from './fit-overview.js'
import { fitShiftField } from './fit-shift-field.js'
import { steppedField } from './shift-field.js'
import { type AxisLengths, movedBy, movesFurther, sizeScatter } from './size-scatter.js'

/**
 * Correlation plus share of agreeing windows that make an artwork this film's. Of films drawn at random own ones came to 1.6 and more, with
 * three to four tenths of all their strokes missing to 1.03; others' to 0.87.
 */
const LEAST_LIKE = 0.95
/** With less of its ink on the film than this an artwork could be any. */
const LEAST_ON_FILM = 0.25
/** Less ink than this, or more, is no artwork: share of the page. */
const LEAST_INK = 1e-6
/** A size known no better than this (one sigma) is not told. */
const WORST_STANDARD = 0.002
/** Fewer edge places than this are chance. */
const FEWEST_EDGES = 24

/** What of the scan the artwork is compared with. */
export interface FilmForArtwork {
  readonly scan: DensityScan
  /** Share of ink, of all of the scan and with everything that is no film unknown. */
  readonly ink: InkGrid
  readonly onFilm: InkGrid
  /** Light of clear film. */
  readonly clear: number
  /** How the film's straight lines lie, degrees; may be empty. */
  readonly turns: readonly number[]
}

/**
 * Lays an artwork on its film: turned, mirrored, shifted, each axis to its own size; or says why it cannot be.
 * @param grid the artwork's share of ink in cells as wide as the film's
 */
export function alignArtwork(
  artwork: ArtworkBitmap,
  film: FilmForArtwork,
  grid: InkGrid = gridFor(artwork, film.ink),
): ArtworkAlignment {
  if (!(artwork.inkShare > LEAST_INK))
    return unfitted(
      'blank',
      'the artwork is blank: nothing on it is black',
      'give the separation that this film was printed from',
      null,
    )
  if (!(artwork.inkShare < 1 - LEAST_INK))
    return unfitted(
      'solid',
      'the artwork is black all over, so nothing on it can be laid on the film',
      'give the separation that this film was printed from; if it is, its black and white may be swapped',
      null,
    )
  if (!(totalInk(film.ink) > 1))
    return unfitted(
      'noInk',
      'the film shows no ink that the artwork could be laid on',
      'check that the film was printed and that it lies on the glass',
      null,
    )
  const first = findArtwork(grid, film.ink, film.turns)
  const found = agrees(grid, film, first) ? first : beyondFilm(grid, film, first)
  if (!agrees(grid, film, found)) return otherArtwork(grid, film, found)

  const fitted = refined(artwork, grid, film, found.map)
  const map = fitted?.map ?? finely(grid, film.ink, found.map)
  const like = likeness(grid, film.onFilm, map)
  return {
    kind: 'fitted',
    map: inPixels(map, film.scan),
    turned: turnOf(map, found.mirrored),
    mirrored: found.mirrored,
    likeness: like.correlation,
    onFilm: like.onScan,
    size: fitted === null ? overviewSize(grid, map) : sizeOf(fitted),
    gainUm: fitted === null ? null : { across: 1000 * fitted.fit.gain.across, feed: 1000 * fitted.fit.gain.feed },
    residualUm: fitted === null ? null : 1000 * fitted.residual,
    shift: fitted?.shift ?? null,
    edges: fitted === null ? 0 : fitted.fit.weights.filter(weight => weight > 0).length,
    corners: corners(artwork, inPixels(map, film.scan)),
  }
}

function unfitted(
  kind: 'blank' | 'solid' | 'noInk' | 'other',
  because: string,
  next: string,
  like: number | null,
): ArtworkAlignment {
  return { kind, because, next, likeness: like }
}

/** The artwork's share of ink in cells as large as the film's. */
export function gridFor(artwork: ArtworkBitmap, { pitchX, pitchY }: InkGrid): InkGrid {
  return artworkGrid(artwork, Math.sqrt(pitchX * pitchY))
}

/** Ink all told, cells. */
function totalInk({ ink, known }: InkGrid): number {
  let sum = 0
  for (let i = 0; i < ink.length; i++) sum += ink[i]! * known[i]!
  return sum
}

function agrees(grid: InkGrid, film: FilmForArtwork, found: FoundArtwork): boolean {
  return found.correlation + agreement(grid, film.onFilm, found.map) >= LEAST_LIKE
}

/** An artwork larger than its film, or than what of it is in view, is looked for on the film alone. */
function beyondFilm(grid: InkGrid, film: FilmForArtwork, first: FoundArtwork): FoundArtwork {
  const { known } = film.onFilm
  if (!film.ink.known.some((all, i) => all !== known[i])) return first
  const second = findArtwork(grid, film.onFilm, film.turns)
  return second.onScan >= LEAST_ON_FILM && second.correlation > first.correlation ? second : first
}

/** A negative is like its artwork all over, or it is not said to be one. */
const LEAST_SWAPPED = 0.8
/** A coarse look is enough to see whether the artwork would fit with black and white swapped. */
const SWAPPED_CELLS = 250

function otherArtwork(grid: InkGrid, film: FilmForArtwork, found: FoundArtwork): ArtworkAlignment {
  const factor = Math.max(1, Math.round(Math.max(film.ink.columns, film.ink.rows) / SWAPPED_CELLS))
  const swapped = reducedGrid({ ...grid, ink: grid.ink.map(ink => 1 - ink) }, factor, factor)
  const other = findArtwork(swapped, reducedGrid(film.ink, factor, factor), film.turns)
  if (other.correlation >= LEAST_SWAPPED)
    return unfitted(
      'other',
      'the artwork fits this film only with black and white swapped',
      'check whether the film was printed as a negative, or save the separation with black as ink',
      found.correlation,
    )
  return unfitted(
    'other',
    'this is not the artwork of this film: laid over it in every way they do not look alike',
    'check that film and artwork belong to the same job and separation, then inspect again',
    found.correlation,
  )
}

interface Refined {
  readonly map: PlaneMap
  readonly fit: EdgeFit
  /** Standard uncertainties of the sizes from block to block; null when edges lie in too few. */
  readonly scatter: AxisLengths | null
  /** How the film wanders about the map; null when too few edges tell. */
  readonly shift: ShiftField | null
  /** Root mean square of what map, shift and gain leave, mm. */
  readonly residual: number
}

/** Edges that lie no further than this from where they were looked for are read well at once, mm. */
const NEAR_MM = 0.15

/** A film that wanders by more than this is read in finer cells where its page is large, mm; they follow waves of 30 mm. */
const WANDERS_MM = 0.02
const WANDER_CELL_MM = 8

/**
 * The map made exact by the edges; where it was far off a second reading is centred on the first fit. What is an outlier the smooth shift tells: for the even
 * map alone a film that wanders is one in great part. Null when there are too few edges.
 */
function refined(artwork: ArtworkBitmap, grid: InkGrid, film: FilmForArtwork, start: PlaneMap): Refined | null {
  let map = start
  let last: Refined | null = null
  let cells = CELLS
  const size = sizeMm(artwork)
  for (let round = 0; round < 2; round++) {
    const { found } = edgeDisplacements(artwork, grid, film.scan, map, film.clear, cells)
    if (found.length < FEWEST_EDGES) return last
    const wander = fitShiftField(found, map, size)
    const fit = fitEdges(found, map, wander?.weights)
    if (fit === null) return last
    const far = movesFurther(found, map, fit, NEAR_MM)
    const before = map
    map = movedBy(map, fit)
    const shift = wander === null ? null : steppedField(wander.field, followedBy(before, inverseMap(map)))
    last = {
      map,
      fit,
      scatter: sizeScatter(found, fit.weights, before),
      shift,
      residual: wander?.residual ?? fit.residual,
    }
    const wanders = shift !== null && farthest(shift) > WANDERS_MM
    const finer = wanders ? Math.ceil(Math.max(size.width, size.height) / WANDER_CELL_MM) : CELLS
    if (!far && finer <= CELLS) break
    cells = Math.max(CELLS, finer)
  }
  return last
}

/** The largest coefficient: about the largest shift, mm. */
function farthest({ across, feed }: ShiftField): number {
  let most = 0
  for (let i = 0; i < across.length; i++) most = Math.max(most, Math.abs(across[i]!), Math.abs(feed[i]!))
  return most
}

/** One map and then another. */
function followedBy(one: PlaneMap, next: PlaneMap): PlaneMap {
  return {
    x0: next.x0 + next.xx * one.x0 + next.xy * one.y0,
    y0: next.y0 + next.yx * one.x0 + next.yy * one.y0,
    xx: next.xx * one.xx + next.xy * one.yx,
    xy: next.xx * one.xy + next.xy * one.yy,
    yx: next.yx * one.xx + next.yy * one.yx,
    yy: next.yx * one.xy + next.yy * one.yy,
  }
}

function sizeMm({ width, height, dpi }: ArtworkBitmap): { readonly width: number; readonly height: number } {
  return { width: (width * MM_PER_INCH) / dpi.across, height: (height * MM_PER_INCH) / dpi.along }
}

const FINE_ROUNDS = 12

/** The map as well as the overview tells it; the edges, where there are any, tell it better. */
function finely(grid: InkGrid, film: InkGrid, map: PlaneMap): PlaneMap {
  return fitOverview(smoothedGrid(grid, 1), smoothedGrid(film, 1), map, FINE_ROUNDS)
}

/** Sizes with the larger of two uncertainties: from window to window, and from block to block. */
function sizeOf({ map, fit, scatter }: Refined): ArtworkFit['size'] {
  const ratio = (ax: number, ay: number, fromBlocks: number): SizeRatio | null => {
    const length = Math.hypot(ax, ay)
    const ux = ax / length
    const uy = ay / length
    const row = [ux * ax, ux * ay, uy * ax, uy * ay]
    let variance = 0
    for (let j = 0; j < 4; j++) for (let k = 0; k < 4; k++) variance += row[j]! * row[k]! * fit.covariance[4 * j + k]!
    const fromWindows = Math.sqrt(variance)
    if (!(fromWindows <= WORST_STANDARD)) return null
    return {
      value: length - 1,
      standard: Math.max(fromWindows, fromBlocks),
      shares: { across: ux * ux, along: uy * uy },
    }
  }
  return {
    across: ratio(map.xx, map.yx, scatter?.across ?? 0),
    feed: ratio(map.xy, map.yy, scatter?.feed ?? 0),
  }
}

/** How far the overview's map may be off at the rim, one sigma, mm: some 0.01 mm was seen on films whose truth was known. */
const OVERVIEW_OFF_MM = 0.03
/** Over less than this the overview tells no size worth the name, mm. */
const LEAST_EXTENT_MM = 20

/** Size from the overview alone, for artworks without plain edges (tints, hair-lines): less sure. */
function overviewSize(grid: InkGrid, map: PlaneMap): ArtworkFit['size'] {
  let left = grid.columns
  let right = -1
  let top = grid.rows
  let bottom = -1
  grid.ink.forEach((ink, i) => {
    if (!(ink > 0.02)) return
    const c = i % grid.columns
    const r = Math.floor(i / grid.columns)
    left = Math.min(left, c)
    right = Math.max(right, c)
    top = Math.min(top, r)
    bottom = Math.max(bottom, r)
  })
  const ratio = (ax: number, ay: number, extentMm: number): SizeRatio | null => {
    if (!(extentMm >= LEAST_EXTENT_MM)) return null
    const length = Math.hypot(ax, ay)
    return {
      value: length - 1,
      standard: (Math.SQRT2 * OVERVIEW_OFF_MM) / extentMm,
      shares: { across: (ax / length) ** 2, along: (ay / length) ** 2 },
    }
  }
  return {
    across: ratio(map.xx, map.yx, (right - left) * grid.pitchX),
    feed: ratio(map.xy, map.yy, (bottom - top) * grid.pitchY),
  }
}

function turnOf(map: PlaneMap, mirrored: boolean): number {
  const sign = mirrored ? -1 : 1
  return (Math.atan2(sign * map.yx, sign * map.xx) * 180) / Math.PI
}

function inPixels(map: PlaneMap, scan: DensityScan): PlaneMap {
  const mmX = scan.umPerPixel.across / 1000
  const mmY = scan.umPerPixel.along / 1000
  return { x0: map.x0 / mmX, xx: map.xx / mmX, xy: map.xy / mmX, y0: map.y0 / mmY, yx: map.yx / mmY, yy: map.yy / mmY }
}

function corners(artwork: ArtworkBitmap, map: PlaneMap): ArtworkFit['corners'] {
  const { width: w, height: h } = sizeMm(artwork)
  return (
    [
      [0, 0],
      [w, 0],
      [w, h],
      [0, h],
    ] as const
  ).map(([x, y]) => ({ column: map.x0 + map.xx * x + map.xy * y, row: map.y0 + map.yx * x + map.yy * y }))
}
