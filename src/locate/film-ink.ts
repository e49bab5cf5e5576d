import { blockCentre } from '../imaging/block-overview.js'
import type { InkGrid } from '../imaging/ink-grid.js'
import { HOLDER } from './find-light.js'
import type { LocatedScan } from './locate-scan.js'

/**
 * Share of ink in each block of the scan as its light tells it: 1 less light over that of clear film, cut to 0..1. Light is averaged
 * by area, so a tint comes out as its share of ink. What the holder hides is not known.
 */
export function filmInk({ overview, regions, scan }: LocatedScan): InkGrid {
  const { columns, rows, blockPx, light } = overview
  const { across, along } = scan.umPerPixel
  const clear = regions.base ?? regions.openLight ?? light.reduce((most, value) => Math.max(most, value), 0)
  const start = blockCentre(overview, 0)
  return {
    columns,
    rows,
    pitchX: (blockPx * across) / 1000,
    pitchY: (blockPx * along) / 1000,
    x0: (start * across) / 1000,
    y0: (start * along) / 1000,
    ink: light.map(value => (clear > 0 ? Math.min(1, Math.max(0, 1 - value / clear)) : 0)),
    known: Float32Array.from(regions.labels, label => (label === HOLDER ? 0 : 1)),
  }
}
