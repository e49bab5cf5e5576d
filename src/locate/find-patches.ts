import type { BlockOverview } from '../imaging/block-overview.js'
import { fullWindows } from '../imaging/full-windows.js'
import { integralImage } from '../imaging/integral-image.js'
import { labelComponents } from '../imaging/label-components.js'
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
  const solidMarks = regions.labels.map(label => (label === SOLID ? 1 : 0))
  const solidFits = fullWindows(solidMarks, columns, rows, across.blocks, along.blocks)
  const { labels: areaOf } = labelComponents(solidMarks, columns, rows)
  const innerLight = (index: number) => {
    let sum = 0
    for (let r = 0; r < along.inner; r++) {
      const from = index + (along.inset + r) * columns + across.inset
      for (let c = from; c < from + across.inner; c++) sum += overview.light[c]!
    }
    return sum / (across.inner * along.inner)
  }
  const middle = (along.blocks >> 1) * columns + (across.blocks >> 1)
  const byArea = new Map<number, { windows: number[]; lightest: number; light: number }>()
  for (let index = 0; index < solidFits.length; index++) {
    if (solidFits[index] === 0) continue
    const area = areaOf[index + middle]!
    const light = innerLight(index)
    const found = byArea.get(area)
    if (found === undefined) byArea.set(area, { windows: [index], lightest: index, light })
    else {
      found.windows.push(index)
      if (light > found.light) {
        found.light = light
        found.lightest = index
      }
    }
  }
  const rectAt = (index: number) => rect(index % columns, Math.floor(index / columns))
  const solids: Patch[] = []
  const lightest: Patch[] = []
  const areas = [...byArea.values()].sort((a, b) => b.windows.length - a.windows.length).slice(0, MOST_SOLIDS)
  areas.forEach((found, a) => {
    for (const index of spread(found.windows, columns, PATCHES_A_SOLID, across.blocks)) {
      const r = rectAt(index)
      if (inside(r)) solids.push({ id: `solid-${solids.length + 1}`, kind: 'solid', area: a + 1, rect: r })
    }
    const r = rectAt(found.lightest)
    if (inside(r)) lightest.push({ id: `thin-${a + 1}`, kind: 'solid', area: a + 1, rect: r })
  })

  // Base: clear film away from ink, and from open light and holder where the film's own rim bends light.
  const baseMarks = regions.labels.map(label => (label === BASE ? 1 : 0))
  const baseFits = fullWindows(baseMarks, columns, rows, across.blocks, along.blocks)
  const outside = regions.labels.map(label => (label === OPEN_LIGHT || label === HOLDER ? 1 : 0))
  const outsideSum = integralImage(outside, columns, rows)
  const rim = Math.ceil(RIM_UM / (blockPx * Math.min(umPerPixel.across, umPerPixel.along)))
  const bases: number[] = []
  // Every other window is enough to choose from: a quarter of the work on a page that is mostly clear.
  for (let row = 0; row + along.blocks <= rows; row += 2)
    for (let column = 0; column + across.blocks <= columns; column += 2) {
      if (baseFits[row * columns + column] === 0) continue
      const left = Math.max(0, column - rim)
      const top = Math.max(0, row - rim)
      const width = Math.min(columns, column + across.blocks + rim) - left
      const height = Math.min(rows, row + along.blocks + rim) - top
      if (outsideSum.sum(left, top, width, height) > 0) continue
      bases.push(row * columns + column)
    }
  const chosen = spread(bases, columns, MOST_BASES, across.blocks)
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

/** At most `most` windows (indices of their first cells), no two nearer than `apart`, spread by taking the one farthest from those taken. */
function spread(windows: readonly number[], columns: number, most: number, apart: number): number[] {
  if (windows.length === 0) return []
  // Many thousands of windows say the same as a few hundred of them.
  const step = Math.max(1, Math.floor(windows.length / 1500))
  const pool = windows
    .filter((_, i) => i % step === 0)
    .map(index => ({ index, column: index % columns, row: Math.floor(index / columns) }))
  const middle = {
    column: pool.reduce((sum, c) => sum + c.column, 0) / pool.length,
    row: pool.reduce((sum, c) => sum + c.row, 0) / pool.length,
  }
  const off = (a: { column: number; row: number }, b: { column: number; row: number }) =>
    (a.column - b.column) ** 2 + (a.row - b.row) ** 2
  const taken = [pool.reduce((best, c) => (off(c, middle) < off(best, middle) ? c : best))]
  const nearest = pool.map(c => off(c, taken[0]!))
  while (taken.length < most) {
    let far = 0
    for (let i = 1; i < pool.length; i++) if (nearest[i]! > nearest[far]!) far = i
    if (nearest[far]! < apart ** 2) break
    const next = pool[far]!
    taken.push(next)
    for (let i = 0; i < pool.length; i++) nearest[i] = Math.min(nearest[i]!, off(pool[i]!, next))
  }
  return taken.map(c => c.index)
}
