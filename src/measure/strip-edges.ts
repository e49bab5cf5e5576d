import { mapped, type PlaneMap } from '../imaging/fit-plane-map.js'
import type { StraightEdge } from '../imaging/straight-edges.js'
import type { StripLayout } from '../model/strip.js'

/** Kept off corners, mm. */
const TRIM_MM = 0.5
/** Pieces of the long solid's edges that are measured, and their length, mm: ten times what tilt needs. */
const RAIL_PIECES = 3
const RAIL_MM = 12

interface Run {
  readonly from: readonly [number, number]
  readonly to: readonly [number, number]
  /** Towards clear film, on the strip's axes. */
  readonly nx: number
  readonly ny: number
  readonly clearMm: number
  readonly darkMm: number
}

/** The strip's own edges of 8 mm and more, both directions, as edges to be super-sampled: sides of marks, of the solid and of the long solid. */
export function stripEdges(
  layout: StripLayout,
  map: PlaneMap,
  umPerPixel: { readonly across: number; readonly along: number },
): StraightEdge[] {
  return runsOf(layout).map(({ from, to, nx, ny, clearMm, darkMm }) => {
    const a = mapped(map, from[0], from[1])
    const b = mapped(map, to[0], to[1])
    // Normal on the scan, in lengths.
    const px = (map.xx * nx + map.xy * ny) * umPerPixel.across
    const py = (map.yx * nx + map.yy * ny) * umPerPixel.along
    const across = Math.abs(px) >= Math.abs(py)
    const pitch = across ? umPerPixel.across : umPerPixel.along
    // A plateau is told along a row or a column, which cross the edge at a slant.
    const slant = Math.hypot(px, py) / (across ? Math.abs(px) : Math.abs(py))
    const length = Math.hypot(b.x - a.x, b.y - a.y)
    return {
      from: { column: a.x, row: a.y },
      to: { column: b.x, row: b.y },
      direction: across ? 'across' : 'along',
      clearSide: (across ? px : py) > 0 ? 'after' : 'before',
      lengthPx: length,
      clearPx: (clearMm * 1000 * slant) / pitch,
      darkPx: (darkMm * 1000 * slant) / pitch,
    }
  })
}

function runsOf(layout: StripLayout): Run[] {
  const clearBeside = clearances(layout)
  return layout.fields.flatMap(field => {
    if (field.kind !== 'mark' && field.kind !== 'solid' && field.kind !== 'rail') return []
    const { x, y, width, height } = field.rect
    const upright = [
      { at: x, nx: -1 },
      { at: x + width, nx: 1 },
    ].map(
      ({ at, nx }): Run => ({
        from: [at, y + TRIM_MM],
        to: [at, y + height - TRIM_MM],
        nx,
        ny: 0,
        clearMm: clearBeside(at, y + height / 2, nx, 0),
        darkMm: width,
      }),
    )
    const level = [
      { at: y, ny: -1 },
      { at: y + height, ny: 1 },
    ].flatMap(({ at, ny }) =>
      stretches(x + TRIM_MM, x + width - TRIM_MM).map(
        ([from, to]): Run => ({
          from: [from, at],
          to: [to, at],
          nx: 0,
          ny,
          clearMm: Math.min(...[from, (from + to) / 2, to].map(place => clearBeside(place, at, 0, ny))),
          darkMm: height,
        }),
      ),
    )
    return (field.kind === 'mark' ? upright : field.kind === 'solid' ? [...upright, ...level] : level).filter(
      run => run.clearMm >= LEAST_ROOM_MM && run.darkMm >= LEAST_ROOM_MM,
    )
  })
}

/** Room beside an edge without which its plateau is not seen, mm: more than the 0.8 mm between solid and rail, where a soft film reads too soft. */
const LEAST_ROOM_MM = 0.85
/** Beyond this nothing more is asked of it. */
const ENOUGH_MM = 1.5

/** Clear film beside a place of the strip in one direction, mm. */
function clearances(layout: StripLayout): (x: number, y: number, nx: number, ny: number) => number {
  const printed = layout.fields
    .filter(({ kind }) => kind !== 'clear')
    .map(field => (field.kind === 'line' ? field.plate : field.rect))
  return (x, y, nx, ny) => {
    for (let d = 0.05; d < ENOUGH_MM; d += 0.05) {
      const px = x + nx * d
      const py = y + ny * d
      if (px < 0 || py < 0 || px > layout.width || py > layout.height) return d - 0.05
      if (printed.some(r => px > r.x && py > r.y && px < r.x + r.width && py < r.y + r.height)) return d - 0.05
    }
    return ENOUGH_MM
  }
}

/** A long edge in a few pieces spread over it. */
function stretches(from: number, to: number): [number, number][] {
  if (to - from <= RAIL_MM * 1.5) return [[from, to]]
  const pieces = Math.min(RAIL_PIECES, Math.floor((to - from) / RAIL_MM))
  return Array.from({ length: pieces }, (_, i) => {
    const middle = from + ((i + 0.5) * (to - from)) / pieces
    return [middle - RAIL_MM / 2, middle + RAIL_MM / 2]
  })
}
