import type { BlockOverview } from '../imaging/block-overview.js'
import { blockCentre } from '../imaging/block-overview.js'
import { type ConnectedGroup, connectedRuns } from '../imaging/label-components.js'
import type { PixelPoint } from '../model/geometry.js'
import { HOLDER, type Regions } from './find-light.js'

/**
 * Corners of the film, of the holder and of anything else worth outlining, in scan pixels, clockwise from the top left.
 * The film's corners are its extremes along both diagonals, right for a rectangle turned by up to some 40 degrees.
 */
export function filmCorners(overview: BlockOverview, regions: Regions): readonly PixelPoint[] | null {
  const before = known.get(regions)
  if (before !== undefined) return before
  const corners = largest(overview, regions.film, 1)
  known.set(regions, corners)
  return corners
}

/** Asked several times of one film: for its turn, its flaws and its outline. */
const known = new WeakMap<Regions, readonly PixelPoint[] | null>()

export function holderCorners(overview: BlockOverview, regions: Regions): PixelPoint[] | null {
  return largest(overview, regions.labels, HOLDER)
}

/** Corners of the largest group of blocks that bear a mark. */
function largest(overview: BlockOverview, marks: Uint8Array, mark: number): PixelPoint[] | null {
  const { columns, rows } = overview
  if (!marks.includes(mark)) return null
  const { runs, groups } = connectedRuns(marks, columns, rows, mark)
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
  const take = (which: number, score: number, column: number, row: number): void => {
    if (score > corners[which]!.score) corners[which] = { score, column, row }
  }
  // In each row only the group's first and last cell can be extreme along a diagonal.
  for (let at = 0; at < runs.length; at += 4) {
    if (runs[at + 3] !== biggest.label) continue
    const [row, left, right] = [runs[at]!, runs[at + 1]!, runs[at + 2]!]
    take(0, -(left + row), left, row)
    take(1, right - row, right, row)
    take(2, right + row, right, row)
    take(3, row - left, left, row)
  }
  return corners.map(c => ({ column: blockCentre(overview, c.column), row: blockCentre(overview, c.row) }))
}
