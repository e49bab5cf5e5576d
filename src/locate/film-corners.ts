import type { BlockOverview } from '../imaging/block-overview.js'
import { blockCentre } from '../imaging/block-overview.js'
import { type ConnectedGroup, labelComponents } from '../imaging/label-components.js'
import type { PixelPoint } from '../model/geometry.js'
import { HOLDER, type Regions } from './find-light.js'

/**
 * Corners of the film, of the holder and of anything else worth outlining, in scan pixels, clockwise from the top left.
 * The film's corners are its extremes along both diagonals, right for a rectangle turned by up to some 40 degrees.
 */
export function filmCorners(overview: BlockOverview, regions: Regions): PixelPoint[] | null {
  return largest(overview, regions.film)
}

export function holderCorners(overview: BlockOverview, regions: Regions): PixelPoint[] | null {
  return largest(
    overview,
    regions.labels.map(label => (label === HOLDER ? 1 : 0)),
  )
}

function largest(overview: BlockOverview, marks: Uint8Array): PixelPoint[] | null {
  const { columns, rows } = overview
  if (!marks.includes(1)) return null
  const { labels, groups } = labelComponents(marks, columns, rows)
  const biggest = groups.reduce<ConnectedGroup | undefined>(
    (best, g) => (best === undefined || g.cells > best.cells ? g : best),
    undefined,
  )
  if (biggest === undefined || biggest.cells < 9) return null
  const corners: { score: number; column: number; row: number }[] = [0, 1, 2, 3].map(() => ({
    score: Number.NEGATIVE_INFINITY,
    column: 0,
    row: 0,
  }))
  for (let row = biggest.top; row <= biggest.bottom; row++)
    for (let column = biggest.left; column <= biggest.right; column++) {
      if (labels[row * columns + column] !== biggest.label) continue
      const sum = column + row
      const difference = column - row
      if (-sum > corners[0]!.score) corners[0] = { score: -sum, column, row }
      if (difference > corners[1]!.score) corners[1] = { score: difference, column, row }
      if (sum > corners[2]!.score) corners[2] = { score: sum, column, row }
      if (-difference > corners[3]!.score) corners[3] = { score: -difference, column, row }
    }
  return corners.map(c => ({ column: blockCentre(overview, c.column), row: blockCentre(overview, c.row) }))
}
