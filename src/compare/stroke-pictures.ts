import { mapped, type PlaneMap } from '../imaging/fit-plane-map.js'
import type { LightField } from '../imaging/light-field.js'
import { strokeLight } from '../measure/stroke-model.js'
import type { PixelRect } from '../model/geometry.js'
import type { StrokeProfile, StrokeProfiles } from '../model/growth.js'
import type { ComparedStroke } from './compare-strokes.js'

/** Light of a square piece of film on an even grid, row by row, turned as on the baseline's scan. */
export interface FilmPiece {
  readonly light: Float32Array
  readonly side: number
  readonly umPerPixel: number
  /** Window of the scan that it was taken from. */
  readonly rect: PixelRect
}

/** Side of the piece, um, and its samples a side. */
const PIECE_UM = 1800
const SIDE = 240
/** Points of a profile. */
const MOST_POINTS = 121

/** The stroke to show: the narrowest line that both scans show well, else the narrowest gap. */
export function shownStroke(strokes: readonly ComparedStroke[]): ComparedStroke | null {
  const narrowest = (kind: 'line' | 'gap') =>
    strokes
      .filter(({ stroke }) => stroke.kind === kind)
      .reduce<ComparedStroke | null>((best, s) => (best === null || s.widthBefore < best.widthBefore ? s : best), null)
  return narrowest('line') ?? narrowest('gap')
}

/**
 * The same piece of film on both scans, sampled between pixels on one grid that lies as on the baseline's scan. The middle is the stroke's,
 * or of a stroke wider than the piece its edge.
 * @param map um of the baseline's scan to um of the new one
 * @returns null when the piece leaves either scan
 */
export function strokePieces(
  stroke: ComparedStroke,
  before: LightField,
  after: LightField,
  map: PlaneMap,
): { readonly before: FilmPiece; readonly after: FilmPiece } | null {
  const { nx, ny } = stroke.before
  const aside = stroke.widthBefore > 0.8 * PIECE_UM ? stroke.widthBefore / 2 : 0
  const x = stroke.before.x + nx * aside
  const y = stroke.before.y + ny * aside
  return filmPieces({ x, y }, before, after, map, PIECE_UM)
}

/**
 * The same square of film on both scans, as `strokePieces`.
 * @param at its middle on the baseline's scan, um
 * @param sideUm length of its side
 */
export function filmPieces(
  { x, y }: { readonly x: number; readonly y: number },
  before: LightField,
  after: LightField,
  map: PlaneMap,
  sideUm: number,
): { readonly before: FilmPiece; readonly after: FilmPiece } | null {
  const own = pieceOf(before, sideUm, (u, v) => ({ x: x + u, y: y + v }))
  const other = pieceOf(after, sideUm, (u, v) => mapped(map, x + u, y + v))
  return own === null || other === null ? null : { before: own, after: other }
}

function pieceOf(
  field: LightField,
  sideUm: number,
  place: (u: number, v: number) => { x: number; y: number },
): FilmPiece | null {
  const step = sideUm / SIDE
  const half = sideUm / 2
  const corners = [
    [-half, -half],
    [half, -half],
    [-half, half],
    [half, half],
  ].map(([u, v]) => place(u!, v!))
  const columns = corners.map(p => p.x / field.umPerPixel.across)
  const rows = corners.map(p => p.y / field.umPerPixel.along)
  const column = Math.floor(Math.min(...columns)) - 1
  const row = Math.floor(Math.min(...rows)) - 1
  const width = Math.ceil(Math.max(...columns)) + 2 - column
  const height = Math.ceil(Math.max(...rows)) + 2 - row
  if (!(column >= 0 && row >= 0 && column + width <= field.width && row + height <= field.height)) return null
  const rect = { column, row, width, height }
  const window = field.read(rect)
  const light = new Float32Array(SIDE * SIDE)
  for (let r = 0; r < SIDE; r++)
    for (let c = 0; c < SIDE; c++) {
      const at = place((c + 0.5) * step - half, (r + 0.5) * step - half)
      const px = at.x / field.umPerPixel.across - column
      const py = at.y / field.umPerPixel.along - row
      const left = Math.floor(px)
      const top = Math.floor(py)
      const fx = px - left
      const fy = py - top
      const i = top * width + left
      light[r * SIDE + c] =
        (1 - fy) * ((1 - fx) * window[i]! + fx * window[i + 1]!) +
        fy * ((1 - fx) * window[i + width]! + fx * window[i + width + 1]!)
    }
  return { light, side: SIDE, umPerPixel: step, rect }
}

/** Light across a stroke on both scans, distances on the baseline's scale. */
export function strokeProfiles(stroke: ComparedStroke, id: string): StrokeProfiles {
  const scale = stroke.after.halfWidth / stroke.widthAfter
  return {
    id,
    kind: stroke.stroke.kind,
    before: profileOf(stroke.before, 1),
    after: profileOf(stroke.after, scale),
  }
}

function profileOf({ profile, centre, model }: ComparedStroke['before'], scale: number): StrokeProfile {
  const every = Math.max(1, Math.ceil(profile.distance.length / MOST_POINTS))
  const distanceUm: number[] = []
  const seen: number[] = []
  const film: number[] = []
  for (let i = 0; i < profile.distance.length; i += every) {
    const at = profile.distance[i]! - centre
    distanceUm.push(Number((at / scale).toFixed(2)))
    seen.push(Number((profile.light[i]! / model.clear).toFixed(5)))
    film.push(Number((strokeLight(model, at) / model.clear).toFixed(5)))
  }
  return { distanceUm, seen, film }
}
