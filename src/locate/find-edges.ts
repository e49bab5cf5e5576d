import type { BlockOverview } from '../imaging/block-overview.js'
import { findStraightEdges, type StraightEdge } from '../imaging/straight-edges.js'
import { BASE, type Regions, SOLID } from './find-light.js'

const UM_PER_MM = 1000
/** Straight runs of at least 3 mm, after the corners were cut off. */
const LEAST_LENGTH_UM = 3 * UM_PER_MM
const TRIM_UM = 500
/** Room for the plateaus beside an edge. */
const LEAST_PLATEAU_UM = 500
/** A spread of 150 um one sigma shows over a millimetre. */
const WIDEST_GAP_UM = 1200
/** Longer than this tells nothing more, once the tilt has swept a pixel a few times. */
const LONGEST_UM = 25 * UM_PER_MM
const ENOUGH_UM = 8 * UM_PER_MM
/** Sweep at least this many pixels along an edge, so that every sub-pixel phase is met. */
const SWEEP_PIXELS = 2.5
/** Edges off the film's own axes carry the printer's raster as steps. */
const ON_AXIS_WITHIN_DEGREES = 0.8
/** Edges measured in each direction. */
const MOST_A_DIRECTION = 8

/**
 * Straight edges of the artwork between solid and base, on the film's own axes, spread over the page and both directions.
 * Edges of the film itself, of the holder, of tints, hair-lines and text are none: both sides must be flat for half a millimetre.
 */
export function findEdges(
  overview: BlockOverview,
  regions: Regions,
  umPerPixel: { readonly across: number; readonly along: number },
): StraightEdge[] {
  const um = Math.sqrt(umPerPixel.across * umPerPixel.along)
  const lengths = {
    leastLengthPx: LEAST_LENGTH_UM / um,
    trimPx: TRIM_UM / um,
    leastPlateauPx: LEAST_PLATEAU_UM / um,
    widestGapPx: WIDEST_GAP_UM / um,
  }
  const all = findStraightEdges(overview, regions.labels, lengths, { dark: SOLID, clear: BASE })
  const onAxis = keepOnAxis(all, umPerPixel)
  return (['across', 'along'] as const).flatMap(direction =>
    chooseEvenly(
      onAxis.filter(edge => edge.direction === direction),
      overview,
    ).map(edge => shorten(edge, umPerPixel)),
  )
}

/** Angle of an edge against the film's axes: 0..90 degrees, the same for both directions of one film. */
function axisAngle(edge: StraightEdge, umPerPixel: { across: number; along: number }): number {
  const dx = (edge.to.column - edge.from.column) * umPerPixel.across
  const dy = (edge.to.row - edge.from.row) * umPerPixel.along
  const angle = (Math.atan2(dy, dx) * 180) / Math.PI
  return ((angle % 90) + 90) % 90
}

function keepOnAxis(edges: readonly StraightEdge[], umPerPixel: { across: number; along: number }): StraightEdge[] {
  const angles = edges.map(edge => axisAngle(edge, umPerPixel))
  const apart = (a: number, b: number) => {
    const d = Math.abs(a - b) % 90
    return Math.min(d, 90 - d)
  }
  let best: StraightEdge[] = []
  let most = 0
  for (const angle of angles) {
    const near = edges.filter((_, i) => apart(angles[i]!, angle) <= ON_AXIS_WITHIN_DEGREES)
    const length = near.reduce((sum, edge) => sum + edge.lengthPx, 0)
    if (length > most) {
      most = length
      best = near
    }
  }
  return best
}

/** The longest edge of each cell of a 4 x 4 page first, then the next longest, until there are enough. */
function chooseEvenly(edges: readonly StraightEdge[], overview: BlockOverview): StraightEdge[] {
  const cells = new Map<string, StraightEdge[]>()
  for (const edge of edges) {
    const column = Math.floor((((edge.from.column + edge.to.column) / 2) * 4) / overview.scanWidth)
    const row = Math.floor((((edge.from.row + edge.to.row) / 2) * 4) / overview.scanHeight)
    const key = `${column},${row},${edge.clearSide}`
    const list = cells.get(key)
    if (list === undefined) cells.set(key, [edge])
    else list.push(edge)
  }
  const chosen: StraightEdge[] = []
  for (let round = 0; chosen.length < MOST_A_DIRECTION; round++) {
    const layer = [...cells.values()].map(list => list[round]).filter(edge => edge !== undefined)
    if (layer.length === 0) break
    layer.sort((a, b) => b.lengthPx - a.lengthPx)
    chosen.push(...layer.slice(0, MOST_A_DIRECTION - chosen.length))
  }
  return chosen
}

function shorten(edge: StraightEdge, umPerPixel: { across: number; along: number }): StraightEdge {
  const um = Math.sqrt(umPerPixel.across * umPerPixel.along)
  const dx = Math.abs(edge.to.column - edge.from.column)
  const dy = Math.abs(edge.to.row - edge.from.row)
  const tangent = edge.direction === 'across' ? dx / Math.max(dy, 1) : dy / Math.max(dx, 1)
  const wanted = Math.min(LONGEST_UM, Math.max(ENOUGH_UM, (SWEEP_PIXELS * um) / Math.max(tangent, 1e-4)))
  const share = wanted / um / edge.lengthPx
  if (share >= 1) return edge
  const cut = (1 - share) / 2
  const between = (t: number) => ({
    column: edge.from.column + (edge.to.column - edge.from.column) * t,
    row: edge.from.row + (edge.to.row - edge.from.row) * t,
  })
  return { ...edge, from: between(cut), to: between(1 - cut), lengthPx: edge.lengthPx * share }
}
