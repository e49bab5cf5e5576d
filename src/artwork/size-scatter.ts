import { mapped, type PlaneMap } from '../imaging/fit-plane-map.js'
import type { EdgeDisplacement } from './edge-displacements.js'
import { type EdgeFit, fitEdges } from './fit-edges.js'
import { moved } from './fit-overview.js'

/** The artwork's edges are cut into so many blocks each way. */
const BLOCKS = 3
/** Fewer blocks tell no scatter. */
const FEWEST_BLOCKS = 4

/** Lengths of both axes of a map less one. */
export interface AxisLengths {
  readonly across: number
  readonly feed: number
}

/** The map moved as a fit of its edges says. */
export function movedBy(map: PlaneMap, { move, middle }: EdgeFit): PlaneMap {
  const { x, y, xx, xy, yx, yy } = move
  return moved(map, {
    xx,
    xy,
    yx,
    yy,
    x0: x - xx * middle.x - xy * middle.y,
    y0: y - yx * middle.x - yy * middle.y,
  })
}

export function axisLengths({ xx, xy, yx, yy }: PlaneMap): AxisLengths {
  return { across: Math.hypot(xx, yx) - 1, feed: Math.hypot(xy, yy) - 1 }
}

/**
 * Standard uncertainties of both sizes from leaving out one of nine blocks of the artwork at a time (Quenouille, Biometrika 43, 353, 1956; from memory):
 * what edges share over more than a window (a film that wanders, the raster under one tint) shows in it. Null when edges lie in too few blocks.
 * @param map by which the edges were read, artwork mm to scan mm
 */
export function sizeScatter(
  edges: readonly EdgeDisplacement[],
  weights: Float64Array,
  map: PlaneMap,
): AxisLengths | null {
  const reach = (of: (edge: EdgeDisplacement) => number): [number, number] => {
    let [least, most] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY]
    for (const edge of edges) {
      least = Math.min(least, of(edge))
      most = Math.max(most, of(edge))
    }
    return [least, most]
  }
  const [left, right] = reach(edge => edge.x)
  const [top, bottom] = reach(edge => edge.y)
  const third = (value: number, from: number, to: number) =>
    Math.min(BLOCKS - 1, Math.floor((BLOCKS * (value - from)) / Math.max(to - from, 1e-9)))
  const block = edges.map(({ x, y }) => third(y, top, bottom) * BLOCKS + third(x, left, right))
  const sizes: AxisLengths[] = []
  for (const out of new Set(block)) {
    const kept = edges.flatMap((_, i) => (block[i] === out ? [] : [i]))
    const fit = fitEdges(
      kept.map(i => edges[i]!),
      map,
      Float64Array.from(kept, i => weights[i]!),
    )
    if (fit === null) return null
    sizes.push(axisLengths(movedBy(map, fit)))
  }
  if (sizes.length < FEWEST_BLOCKS) return null
  const scatter = (of: (size: AxisLengths) => number): number => {
    const mean = sizes.reduce((sum, size) => sum + of(size), 0) / sizes.length
    const squares = sizes.reduce((sum, size) => sum + (of(size) - mean) ** 2, 0)
    return Math.sqrt(((sizes.length - 1) / sizes.length) * squares)
  }
  return { across: scatter(size => size.across), feed: scatter(size => size.feed) }
}

/** Whether a fit moves any of its edges further than `mm`. */
export function movesFurther(
  edges: readonly EdgeDisplacement[],
  map: PlaneMap,
  { move, middle }: EdgeFit,
  mm: number,
): boolean {
  return edges.some(edge => {
    const at = mapped(map, edge.x, edge.y)
    const [u, v] = [at.x - middle.x, at.y - middle.y]
    return Math.hypot(move.x + move.xx * u + move.xy * v, move.y + move.yx * u + move.yy * v) > mm
  })
}
