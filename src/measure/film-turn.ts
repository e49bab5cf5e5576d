import { median } from '../imaging/robust.js'
import type { MeasuredEdge } from './measured-edge.js'

/** Edges within this many degrees of the commonest direction tell it. */
const ONE_WAY = 0.7

/**
 * How the film's own axes lie on the scan, degrees from the rows towards the columns, -45..45: the direction most of its straight edges
 * share, by length, each known to a hundredth of a degree or so. Printed solids have their sides along head and feed.
 * @param hint where no edge was measured; null then gives null
 */
export function filmTurn(
  edges: readonly Pick<MeasuredEdge, 'spread'>[],
  umPerPixel: { readonly across: number; readonly along: number },
  hint: number | null,
): number | null {
  const told = edges.map(({ spread: { from, to, lengthUm } }) => ({
    angle: quarter(
      (Math.atan2((to.row - from.row) * umPerPixel.along, (to.column - from.column) * umPerPixel.across) * 180) /
        Math.PI,
    ),
    weight: lengthUm,
  }))
  let best: number | null = hint === null ? null : quarter(hint)
  let most = 0
  for (const { angle } of told) {
    const near = told.filter(other => Math.abs(quarter(other.angle - angle)) < ONE_WAY)
    const weight = near.reduce((sum, other) => sum + other.weight, 0)
    if (!(weight > most)) continue
    most = weight
    // Long edges count more: each as often as it has millimetres.
    const apart = near.flatMap(other =>
      new Array<number>(Math.max(1, Math.round(other.weight / 1000))).fill(quarter(other.angle - angle)),
    )
    best = quarter(angle + median(Float64Array.from(apart)))
  }
  return best
}

/** An angle by quarter turns, -45..45. */
function quarter(angle: number): number {
  return angle - 90 * Math.round(angle / 90)
}
