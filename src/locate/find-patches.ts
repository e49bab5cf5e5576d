import { everyWindow, summedWindows } from '../imaging/area-windows.js'
import type { BlockOverview } from '../imaging/block-overview.js'
import { freeWindows } from '../imaging/free-windows.js'
import { fullWindows } from '../imaging/full-windows.js'
import { connectedRuns } from '../imaging/label-components.js'
import { spreadPlaces } from '../imaging/spread-places.js'
import type { PixelRect } from '../model/geometry.js'
import type { Patch } from '../model/located.js'
import { BASE, HOLDER, OPEN_LIGHT, type Regions, SOLID } from './find-light.js'

/** Side of a patch, um. */
const PATCH_UM = 1000
/** Clear of the edge by this much, to a quarter of a block (0.04 mm): three sigma of bleed and optics. */
const MARGIN_UM = 300
/** Base is read this far from open light: the film's own rim bends light. */
const RIM_UM = 1000
/** Patches read from one solid, and altogether. More would cost time and tell nothing new: they share the calibration's error. */
const PATCHES_A_SOLID = 6
const MOST_SOLIDS = 40
const MOST_BASES = 36

export interface FoundPatches {
  readonly solids: readonly Patch[]
  /** The lightest places among all solids, found on the overview: where the lowest density is looked for. */
  readonly lightest: readonly Patch[]
  readonly bases: readonly Patch[]
}

/** Chooses where solids and base are read: a few squares in every solid, and squares of base spread over the film. */
export function findPatches(
  overview: BlockOverview,
  regions: Regions,
  umPerPixel: { readonly across: number; readonly along: number },
): FoundPatches {
  const { columns, rows, blockPx } = overview
  const across = grid(PATCH_UM, MARGIN_UM, blockPx * umPerPixel.across)
  const along = grid(PATCH_UM, MARGIN_UM, blockPx * umPerPixel.along)
  const rect = (column: number, row: number): PixelRect => {
    const width = Math.round(PATCH_UM / umPerPixel.across)
    const height = Math.round(PATCH_UM / umPerPixel.along)
    return {
      column: Math.round((column + across.blocks / 2) * blockPx - width / 2),
      row: Math.round((row + along.blocks / 2) * blockPx - height / 2),
      width,
      height,
    }
  }
  const inside = (r: PixelRect) =>
    r.column >= 0 && r.row >= 0 && r.column + r.width <= overview.scanWidth && r.row + r.height <= overview.scanHeight

  // Solids: windows of nothing but solid blocks; the lightest of each solid is kept by the light of its inner blocks.
  const windows = {
    columns,
    rows,
    fits: fullWindows(regions.labels, columns, rows, across.blocks, along.blocks, SOLID),
    areas: connectedRuns(regions.labels, columns, rows, SOLID),
  }
  const {
    count,
    first,
    lightest: thinnest,
  } = summedWindows(windows, overview.light, {
    across: across.inset,
    along: along.inset,
    wide: across.inner,
    high: along.inner,
  })
  const rectAt = (index: number) => rect(index % columns, Math.floor(index / columns))
  const solids: Patch[] = []
  const lightest: Patch[] = []
  const areas = windows.areas.groups
    .map(group => group.label)
    .filter(area => count[area]! > 0)
    .sort((a, b) => count[b]! - count[a]! || first[a]! - first[b]!)
    .slice(0, MOST_SOLIDS)
  const pools = everyWindow(
    windows,
    areas.map(area => ({ area, step: poolStep(count[area]!) })),
    count,
  )
  areas.forEach((area, a) => {
    for (const index of spreadPlaces(pools[a]!, columns, PATCHES_A_SOLID, across.blocks)) {
      const r = rectAt(index)
      if (inside(r)) solids.push({ id: `solid-${solids.length + 1}`, kind: 'solid', area: a + 1, rect: r })
    }
    const r = rectAt(thinnest[area]!)
    if (inside(r)) lightest.push({ id: `thin-${a + 1}`, kind: 'solid', area: a + 1, rect: r })
  })

  // Base: clear film away from ink, and from open light and holder where the film's own rim bends light.
  const baseFits = fullWindows(regions.labels, columns, rows, across.blocks, along.blocks, BASE)
  const rim = Math.ceil(RIM_UM / (blockPx * Math.min(umPerPixel.across, umPerPixel.along)))
  // Every other window is enough to choose from: a quarter of the work on a page that is mostly clear.
  const bases = freeWindows(
    regions.labels,
    baseFits,
    { columns, rows, width: across.blocks, height: along.blocks, apart: rim, from: [OPEN_LIGHT, HOLDER] },
    poolStep,
  )
  const chosen = spreadPlaces(bases, columns, MOST_BASES, across.blocks)
    .map(rectAt)
    .filter(inside)
    .map((r, i): Patch => ({ id: `base-${i + 1}`, kind: 'base', area: 1, rect: r }))
  return { solids, lightest, bases: chosen }
}

/** Blocks that a square with its margin needs, and the inner blocks it reads. Flat blocks already lie off the edge by part of a block. */
function grid(patchUm: number, marginUm: number, blockUm: number): { blocks: number; inset: number; inner: number } {
  const blocks = Math.ceil((patchUm + 2 * marginUm) / blockUm - 0.5)
  const inner = Math.max(1, Math.floor(patchUm / blockUm))
  return { blocks, inner, inset: Math.floor((blocks - inner) / 2) }
}

/** Many thousands of windows say the same as every so many of them. */
function poolStep(windows: number): number {
  return Math.max(1, Math.floor(windows / 1500))
}
