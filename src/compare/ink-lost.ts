import { mapped, type PlaneMap } from '../imaging/fit-plane-map.js'
import { fullWindows } from '../imaging/full-windows.js'
import { labelComponents } from '../imaging/label-components.js'
import { valueAt } from '../imaging/refine-placement.js'
import { median } from '../imaging/robust.js'
import type { InkLost } from '../model/wear.js'
import type { FilmScan } from './compare-films.js'
import { inkPicture } from './ink-picture.js'

/** Solid ink holds back more than this share of the light (D 1 above base): tints do not. */
const SOLID = 0.9
/** Clear of every edge by this many blocks of 0.17 mm: where the films lie apart by a tenth of a millimetre, edges must not look like wear. */
const CLEAR_BLOCKS = 2
/** A block has lost ink when it lets through so many robust deviations more light than its like, and at least one hundredth of clear film's. */
const BEYOND = 6
const LEAST_LOSS = 0.01
/** Resampling between the two grids and blur that reaches beyond the marked blocks: share of what was found (from the truth test). */
const METHOD_SHARE = 0.05
/** A scratch is longer than this, and so many times as long as it is wide on average. */
const SCRATCH = { lengthMm: 2, times: 5 } as const
/** From the median absolute deviation to the standard deviation of a normal distribution. */
const MAD_TO_SIGMA = 1.4826

/**
 * Ink that came off the solids of a film between two scans. Light through a block of solid grows with the bare area in it, so the sum of
 * what blocks let through more is the bare area, holes smaller than a block too. Only the insides of solids of the earlier scan are looked
 * at; what both scans differ by everywhere (exposure, stray light) is taken out. Ink that is thinner but still dark is density loss, not ink lost.
 * @param map um of the earlier scan to um of the later one
 * @returns null when no solid lies in view of both
 */
export function inkLost(before: FilmScan, after: FilmScan, map: PlaneMap): InkLost | null {
  const was = inkPicture(before.overview, before.regions, before.scan.umPerPixel)
  const is = inkPicture(after.overview, after.regions, after.scan.umPerPixel)
  const { columns, rows } = was
  const side = 2 * CLEAR_BLOCKS + 1
  const full = fullWindows(
    Uint8Array.from(was.values, value => (value > SOLID ? 1 : 0)),
    columns,
    rows,
    side,
    side,
  )
  const cells: number[] = []
  const lost: number[] = []
  for (let row = 0; row + side <= rows; row++)
    for (let column = 0; column + side <= columns; column++) {
      if (full[row * columns + column] === 0) continue
      const cell = (row + CLEAR_BLOCKS) * columns + column + CLEAR_BLOCKS
      const x = was.x0 + (column + CLEAR_BLOCKS) * was.dx
      const y = was.y0 + (row + CLEAR_BLOCKS) * was.dy
      const there = mapped(map, x, y)
      const now = valueAt(is, there.x, there.y)
      if (now === null) continue
      cells.push(cell)
      lost.push((was.values[cell]! - now) / was.values[cell]!)
    }
  if (cells.length === 0) return null
  const usual = median(lost)
  const sigma = MAD_TO_SIGMA * median(lost.map(value => Math.abs(value - usual)))
  const least = Math.max(BEYOND * sigma, LEAST_LOSS)
  const marks = new Uint8Array(columns * rows)
  cells.forEach((cell, i) => {
    if (lost[i]! - usual > least) marks[cell] = 1
  })
  const cellMm2 = (was.dx * was.dy) / 1e6
  let sum = 0
  let counted = 0
  cells.forEach((cell, i) => {
    // The neighbours hold what blur and the other grid carried over.
    const near = [0, -1, 1, -columns, columns, -columns - 1, -columns + 1, columns - 1, columns + 1].some(
      step => marks[cell + step] === 1,
    )
    if (!near) return
    sum += lost[i]! - usual
    counted++
  })
  const areaMm2 = Math.max(0, sum) * cellMm2
  const solidMm2 = cells.length * cellMm2
  const expanded = 2 * Math.hypot(sigma * Math.sqrt(counted) * cellMm2, (METHOD_SHARE * areaMm2) / 2)
  const { labels, groups } = labelComponents(marks, columns, rows)
  const mm = Math.sqrt(cellMm2)
  const scratches = groups.filter(group => {
    const length = Math.hypot(group.right - group.left + 1, group.bottom - group.top + 1) * mm
    return length >= SCRATCH.lengthMm && length >= (SCRATCH.times * group.cells * cellMm2) / length
  })
  const areas = new Float64Array(groups.length + 1)
  cells.forEach((cell, i) => {
    areas[labels[cell]!]! += (lost[i]! - usual) * cellMm2
  })
  const largest = groups.length === 0 ? -1 : areas.subarray(1).indexOf(Math.max(...areas.subarray(1)))
  const group = groups[largest]
  return {
    areaMm2,
    expandedMm2: expanded,
    solidMm2,
    sharePercent: (100 * areaMm2) / solidMm2,
    expandedPercent: (100 * expanded) / solidMm2,
    places: groups.length,
    scratches: scratches.length,
    worst:
      group === undefined
        ? null
        : {
            x: was.x0 + ((group.left + group.right) / 2) * was.dx,
            y: was.y0 + ((group.top + group.bottom) / 2) * was.dy,
            lengthMm: Math.max(
              ((group.right - group.left + 1) * was.dx) / 1000,
              ((group.bottom - group.top + 1) * was.dy) / 1000,
            ),
          },
    largestMm2: groups.length === 0 ? 0 : Math.max(...areas.subarray(1)),
  }
}
