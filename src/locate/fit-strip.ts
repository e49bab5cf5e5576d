import { fitLeastSquares } from '../imaging/fit-least-squares.js'
import { mapped, type PlaneMap } from '../imaging/fit-plane-map.js'
import type { LightField } from '../imaging/light-field.js'
import { median, robustDeviation } from '../imaging/robust.js'
import type { StripLayout, StripRect } from '../model/strip.js'

/** A strip laid on the scan by its own edges. */
export interface StripFit {
  /** Strip, mm, to pixels of the scan. */
  readonly map: PlaneMap
  /** How far its edges (of a step with the same area of light) lie outside the layout's, um, along the strip's x and y. */
  readonly gainUm: { readonly x: number; readonly y: number }
  /** Length on the scan over length of the layout, less one, along x and y, with its standard uncertainty from the fit alone. */
  readonly stretch: { readonly x: number; readonly y: number; readonly standardX: number; readonly standardY: number }
  /** Root mean square distance of the pieces of edge from the fitted strip, um. */
  readonly residualUm: number
  /** Pieces of edge used, and those left out as damaged or out of view. */
  readonly used: number
  readonly leftOut: number
}

/** One piece of a straight edge on the strip: its middle, the outward normal (towards clear film), and half its length, mm. */
interface EdgePiece {
  readonly x: number
  readonly y: number
  readonly nx: number
  readonly ny: number
  readonly half: number
  /** Along its edge, from 0. */
  readonly index: number
}

/** How far to either side of an edge to look, mm, at how much of each piece's length, and at which pieces: the first of every so many along an edge. */
interface Look {
  readonly reach: number
  readonly share: number
  readonly every: number
}

/** Pieces this long are short against a bend and long against noise, mm. Ends are kept off corners. */
const PIECE_MM = 2
const CORNER_MM = 0.35
/** Light is summed over so much to either side of an edge, mm: first to catch it, then to measure it. What stands beside an edge is 0.8 mm off. */
const CATCH_MM = 0.6
const MEASURE_MM = 0.35
/** To catch a strip the middle quarter of every third piece of an edge will do: places good to a tenth of a scanner pixel, for little light to look at. */
const CATCHING: readonly Look[] = [
  { reach: CATCH_MM, share: 0.25, every: 3 },
  { reach: MEASURE_MM, share: 0.25, every: 3 },
]
/** Once caught, the second look moves nothing by more than the first one's rounding. */
const MEASURING: readonly Look[] = [{ reach: MEASURE_MM, share: 1, every: 1 }]
/** Pieces further off than this many robust deviations are scratched. */
const OUTLIER = 4
/** No piece is told better than this, um. */
const FLOOR_UM = 0.5
/** A strip is found and its ink gains by no more than this, mm. */
const FOUND_TO_MM = 0.2
/** Before any edge is measured the strip's axes are true to this: stretch and shear of printer and scanner together. */
const TRUE_TO = 0.01
const FEWEST_PIECES = 12
const MOST_SIFTINGS = 5

/**
 * Lays a strip that the overview found on the scan, well enough to read its codes.
 * @param start strip, mm, to scan, mm, as the overview has it
 * @returns null when too few edges are in view
 */
export function catchStrip(field: LightField, layout: StripLayout, start: PlaneMap): StripFit | null {
  const { across, along } = field.umPerPixel
  const map: PlaneMap = {
    xx: (start.xx * 1000) / across,
    xy: (start.xy * 1000) / across,
    x0: (start.x0 * 1000) / across,
    yx: (start.yx * 1000) / along,
    yy: (start.yy * 1000) / along,
    y0: (start.y0 * 1000) / along,
  }
  return laidBy(CATCHING, field, layout, map, { x: 0, y: 0 })
}

/**
 * Lays a strip on the scan by the straight edges of its marks, long solid and solid. Each piece of edge is where the light summed across it says
 * (an area, which blur does not move); an affine map and the ink's gain in both directions are fitted to all, so that gain moves nothing.
 * @param layout as printed; no edge of it lies further than half a printer pixel from the one it was caught with
 * @returns null when too few edges are in view
 */
export function fitStrip(
  field: LightField,
  layout: StripLayout,
  caught: Pick<StripFit, 'map' | 'gainUm'>,
): StripFit | null {
  return laidBy(MEASURING, field, layout, caught.map, caught.gainUm)
}

function laidBy(
  looks: readonly Look[],
  field: LightField,
  layout: StripLayout,
  start: PlaneMap,
  gainUm: StripFit['gainUm'],
): StripFit | null {
  const { across, along } = field.umPerPixel
  let map = start
  let gain = gainUm
  const pieces = edgePieces(layout)
  const middle = { x: layout.width / 2, y: layout.height / 2 }
  let answer: StripFit | null = null
  for (const { reach, share, every } of looks) {
    const seen = pieces.flatMap(piece => {
      if (piece.index % every !== 0) return []
      const off = offsetOf(field, map, { ...piece, half: share * piece.half }, reach, gainAt(gain, piece))
      return off === null ? [] : [{ piece, off }]
    })
    if (seen.length < FEWEST_PIECES) return null
    const fitted = solved(seen, middle, layout)
    if (fitted === null) return null
    const [a0, a1, a2, b0, b1, b2] = fitted.shift
    // map' = map (identity + A): the strip's own axes moved.
    const moved = (x: number, y: number) => {
      const u = x - middle.x
      const v = y - middle.y
      return mapped(map, x + a0 + a1 * u + a2 * v, y + b0 + b1 * u + b2 * v)
    }
    const origin = moved(0, 0)
    const ex = moved(1, 0)
    const ey = moved(0, 1)
    map = {
      x0: origin.x,
      y0: origin.y,
      xx: ex.x - origin.x,
      yx: ex.y - origin.y,
      xy: ey.x - origin.x,
      yy: ey.y - origin.y,
    }
    gain = { x: 1000 * fitted.gainX, y: 1000 * fitted.gainY }
    answer = {
      map,
      gainUm: gain,
      stretch: {
        x: (Math.hypot(map.xx * across, map.yx * along) - 1000) / 1000,
        y: (Math.hypot(map.xy * across, map.yy * along) - 1000) / 1000,
        standardX: fitted.standardX,
        standardY: fitted.standardY,
      },
      residualUm: 1000 * fitted.residual,
      used: fitted.used,
      leftOut: pieces.length - fitted.used,
    }
  }
  return answer
}

function gainAt(gainUm: StripFit['gainUm'], { nx }: EdgePiece): number {
  return (nx !== 0 ? gainUm.x : gainUm.y) / 1000
}

function edgePieces(layout: StripLayout): EdgePiece[] {
  return layout.fields.flatMap(field =>
    field.kind === 'mark' || field.kind === 'rail' || field.kind === 'solid' ? piecesOf(field.rect) : [],
  )
}

function piecesOf({ x, y, width, height }: StripRect): EdgePiece[] {
  const along = (length: number) => {
    const count = Math.max(1, Math.floor((length - 2 * CORNER_MM) / PIECE_MM))
    const each = (length - 2 * CORNER_MM) / count
    return Array.from({ length: count }, (_, index) => ({
      at: CORNER_MM + (index + 0.5) * each,
      half: each / 2,
      index,
    }))
  }
  return [
    ...along(height).flatMap(({ at, half, index }) => [
      { x, y: y + at, nx: -1, ny: 0, half, index },
      { x: x + width, y: y + at, nx: 1, ny: 0, half, index },
    ]),
    ...along(width).flatMap(({ at, half, index }) => [
      { x: x + at, y, nx: 0, ny: -1, half, index },
      { x: x + at, y: y + height, nx: 0, ny: 1, half, index },
    ]),
  ]
}

/** Least change of light across an edge, share of the lighter side. */
const LEAST_CHANGE = 0.5
/** Share of the reach on either end that is taken for the plateau. */
const PLATEAU = 0.25

/** How far outside its place a piece of edge lies, mm; null when it is out of view or is no edge. */
function offsetOf(field: LightField, map: PlaneMap, piece: EdgePiece, reach: number, gain: number): number | null {
  const { x, y, nx, ny, half } = piece
  const cx = x + nx * gain
  const cy = y + ny * gain
  const corners = [-1, 1].flatMap(s =>
    [-1, 1].map(t => mapped(map, cx + nx * reach * s - ny * half * t, cy + ny * reach * s + nx * half * t)),
  )
  const left = Math.floor(Math.min(...corners.map(c => c.x)))
  const right = Math.ceil(Math.max(...corners.map(c => c.x)))
  const top = Math.floor(Math.min(...corners.map(c => c.y)))
  const bottom = Math.ceil(Math.max(...corners.map(c => c.y)))
  if (left < 0 || top < 0 || right >= field.width || bottom >= field.height) return null
  const width = right - left + 1
  const height = bottom - top + 1
  const light = field.read({ column: left, row: top, width, height })
  const det = map.xx * map.yy - map.xy * map.yx
  const pitch = 1 / Math.sqrt(Math.abs(det))
  const bins = Math.max(6, Math.round((2 * reach) / pitch))
  const step = (2 * reach) / bins
  const sums = new Float64Array(bins)
  const places = new Float64Array(bins)
  const counts = new Float64Array(bins)
  // From the scan back to the strip: across the edge and along it, per pixel of column and of row, and at the window's corner.
  const across = {
    perColumn: (map.yy * nx - map.yx * ny) / det,
    perRow: (map.xx * ny - map.xy * nx) / det,
  }
  const along = {
    perColumn: -(map.yy * ny + map.yx * nx) / det,
    perRow: (map.xx * nx + map.xy * ny) / det,
  }
  const middle = mapped(map, cx, cy)
  const fromColumn = left - middle.x
  for (let r = 0; r < height; r++) {
    const fromRow = top + r - middle.y
    const awayThere = across.perColumn * fromColumn + across.perRow * fromRow
    const alongThere = along.perColumn * fromColumn + along.perRow * fromRow
    // Columns of this row that lie on the piece.
    const [a0, a1] = columnsWithin(awayThere, across.perColumn, reach)
    const [b0, b1] = columnsWithin(alongThere, along.perColumn, half)
    const last = Math.min(width - 1, a1, b1)
    for (let c = Math.max(0, a0, b0); c <= last; c++) {
      const away = awayThere + across.perColumn * c
      const k = Math.max(0, Math.min(bins - 1, Math.floor((away + reach) / step)))
      sums[k]! += light[r * width + c]!
      places[k]! += away
      counts[k]! += 1
    }
  }
  const at: number[] = []
  const value: number[] = []
  for (let k = 0; k < bins; k++) {
    if (!(counts[k]! > 0)) continue
    at.push(places[k]! / counts[k]!)
    value.push(sums[k]! / counts[k]!)
  }
  if (at.length < 6) return null
  const ends = Math.max(1, Math.floor(at.length * PLATEAU))
  const dark = median(value.slice(0, ends))
  const clear = median(value.slice(-ends))
  if (!(clear - dark > LEAST_CHANGE * clear)) return null
  // Area of the dark side up to the far plateau: the edge of a step of the same area.
  let area = 0
  for (let i = 1; i < at.length; i++)
    area += ((clear - (value[i]! + value[i - 1]!) / 2) / (clear - dark)) * (at[i]! - at[i - 1]!)
  return at[0]! + area + gain
}

/** First and last whole c for which `start + slope c` lies within `reach` of 0. */
function columnsWithin(start: number, slope: number, reach: number): readonly [number, number] {
  if (Math.abs(slope) < 1e-12) return Math.abs(start) < reach ? [0, Number.POSITIVE_INFINITY] : [0, -1]
  const [one, other] = [(-reach - start) / slope, (reach - start) / slope]
  return [Math.ceil(Math.min(one, other)), Math.floor(Math.max(one, other))]
}

interface Solved {
  readonly shift: readonly [number, number, number, number, number, number]
  readonly gainX: number
  readonly gainY: number
  readonly standardX: number
  readonly standardY: number
  readonly residual: number
  readonly used: number
}

interface SeenPiece {
  readonly piece: EdgePiece
  readonly off: number
}

/**
 * Affine move of the strip's axes and gain of its edges, scratched pieces left out. Edges that face along x say nothing of y and the other way
 * round: each direction is fitted and sifted by itself, or the long rail's many pieces would decide how good those of the few marks must be.
 */
function solved(
  seen: readonly SeenPiece[],
  middle: { readonly x: number; readonly y: number },
  layout: StripLayout,
): Solved | null {
  const alongX = solvedWay(
    seen.filter(({ piece }) => piece.nx !== 0),
    middle,
  )
  const alongY = solvedWay(
    seen.filter(({ piece }) => piece.nx === 0),
    middle,
  )
  if (alongX.rests.length + alongY.rests.length < FEWEST_PIECES) return null
  const [a0, a1, a2, gainX] = alongX.parameters
  const [b0, b1, b2, gainY] = alongY.parameters
  return {
    shift: [a0, a1, a2, b0, b1, b2],
    gainX,
    gainY,
    standardX: Math.max(alongX.standard(1), FLOOR_UM / 1000 / layout.width),
    standardY: Math.max(alongY.standard(2), FLOOR_UM / 1000 / layout.height),
    residual: Math.max(FLOOR_UM / 1000, robustDeviation([...alongX.rests, ...alongY.rests])),
    used: alongX.rests.length + alongY.rests.length,
  }
}

interface SolvedWay {
  /** Shift, its change along x and along y, and gain. */
  readonly parameters: readonly [number, number, number, number]
  readonly standard: (i: number) => number
  /** What the pieces that were kept are off by, mm. */
  readonly rests: readonly number[]
}

/** Rounds in which far pieces count less, before any is left out: a fit by least distances, which a third of scratched pieces does not pull. */
const SOFT_ROUNDS = 8

/** One direction's shift and gain by least squares: first by least distances, then with the outliers of that left out. */
function solvedWay(seen: readonly SeenPiece[], middle: { readonly x: number; readonly y: number }): SolvedWay {
  let weights = seen.map(() => 1)
  let residual = FLOOR_UM / 1000
  for (let round = 0; ; round++) {
    const kept = weights
    const scale = residual
    const fit = fitLeastSquares(
      p => [
        ...seen.map(({ piece, off }, i) => (kept[i]! * (predicted(p, piece, middle) - off)) / scale),
        // Where nothing in view tells them, stretch, place and gain are as the strip was drawn and found.
        p[0]! / FOUND_TO_MM,
        p[1]! / TRUE_TO,
        p[2]! / TRUE_TO,
        p[3]! / FOUND_TO_MM,
      ],
      [0, 0, 0, 0],
      [0.1, 0.001, 0.001, 0.02],
      undefined,
      undefined,
      // The model is linear in all four.
      () => [
        ...seen.map(({ piece }, i) => slopesOf(piece, middle).map(slope => (kept[i]! * slope) / scale)),
        [1 / FOUND_TO_MM, 0, 0, 0],
        [0, 1 / TRUE_TO, 0, 0],
        [0, 0, 1 / TRUE_TO, 0],
        [0, 0, 0, 1 / FOUND_TO_MM],
      ],
    )
    const rests = seen.map(({ piece, off }) => off - predicted(fit.parameters, piece, middle))
    const spread = seen.length === 0 ? 0 : robustDeviation(rests)
    const limit = OUTLIER * Math.max(FLOOR_UM / 1000, spread)
    const next =
      round < SOFT_ROUNDS
        ? rests.map(rest => Math.sqrt(scale / Math.max(scale, Math.abs(rest))))
        : rests.map(rest => (Math.abs(rest) <= limit ? 1 : 0))
    const settled = round > SOFT_ROUNDS && next.every((weight, i) => weight === weights[i])
    if (settled || round === SOFT_ROUNDS + MOST_SIFTINGS)
      return {
        parameters: fit.parameters as unknown as SolvedWay['parameters'],
        standard: i => Math.sqrt(Math.max(0, fit.covariance[i]![i]!)),
        rests: rests.filter((_, i) => weights[i] === 1),
      }
    residual = round < SOFT_ROUNDS ? scale : Math.max(FLOOR_UM / 1000, spread)
    weights = next
  }
}

/** How far outside its place the model has a piece of edge, mm; parameters as `SolvedWay` has them. */
function predicted(p: readonly number[], piece: EdgePiece, middle: { readonly x: number; readonly y: number }): number {
  return slopesOf(piece, middle).reduce((sum, slope, i) => sum + slope * p[i]!, 0)
}

/** What that changes by with each parameter. */
function slopesOf(
  { x, y, nx, ny }: EdgePiece,
  middle: { readonly x: number; readonly y: number },
): readonly [number, number, number, number] {
  const side = nx + ny
  return [side, side * (x - middle.x), side * (y - middle.y), 1]
}
