import type { BlockOverview } from '../imaging/block-overview.js'
import { fullWindows } from '../imaging/full-windows.js'
import { integralImage } from '../imaging/integral-image.js'
import { labelComponents } from '../imaging/label-components.js'
import { mappedLabels } from '../imaging/mapped-labels.js'
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
  const solidMarks = mappedLabels(regions.labels, { [SOLID]: 1 })
  const solidFits = fullWindows(solidMarks, columns, rows, across.blocks, along.blocks)
  const { labels: areaOf, groups } = labelComponents(solidMarks, columns, rows)
  const innerLight = (index: number) => {
    let sum = 0
    for (let r = 0; r < along.inner; r++) {
      const from = index + (along.inset + r) * columns + across.inset
      for (let c = from; c < from + across.inner; c++) sum += overview.light[c]!
    }
    return sum / (across.inner * along.inner)
  }
  const middle = (along.blocks >> 1) * columns + (across.blocks >> 1)
  // By area: how many windows, the first of them, and the lightest. Lists are only made of what is taken.
  const count = new Int32Array(groups.length + 1)
  const firstWindow = new Int32Array(groups.length + 1)
  const lightestWindow = new Int32Array(groups.length + 1)
  const lightestLight = new Float64Array(groups.length + 1).fill(Number.NEGATIVE_INFINITY)
  for (let index = 0; index < solidFits.length; index++) {
    if (solidFits[index] === 0) continue
    const area = areaOf[index + middle]!
    const light = innerLight(index)
    if (count[area]!++ === 0) firstWindow[area] = index
    if (light > lightestLight[area]!) {
      lightestLight[area] = light
      lightestWindow[area] = index
    }
  }
  const rectAt = (index: number) => rect(index % columns, Math.floor(index / columns))
  const solids: Patch[] = []
  const lightest: Patch[] = []
  const areas = groups
    .map(group => group.label)
    .filter(area => count[area]! > 0)
    .sort((a, b) => count[b]! - count[a]! || firstWindow[a]! - firstWindow[b]!)
    .slice(0, MOST_SOLIDS)
  const steps = areas.map(area => poolStep(count[area]!))
  const rank = new Int32Array(groups.length + 1).fill(-1)
  areas.forEach((area, a) => {
    rank[area] = a
  })
  const met = new Int32Array(areas.length)
  const pools: number[][] = areas.map(() => [])
  for (let index = 0; index < solidFits.length; index++) {
    if (solidFits[index] === 0) continue
    const a = rank[areaOf[index + middle]!]!
    if (a >= 0 && met[a]!++ % steps[a]! === 0) pools[a]!.push(index)
  }
  areas.forEach((area, a) => {
    for (const index of spread(pools[a]!, columns, PATCHES_A_SOLID, across.blocks)) {
      const r = rectAt(index)
      if (inside(r)) solids.push({ id: `solid-${solids.length + 1}`, kind: 'solid', area: a + 1, rect: r })
    }
    const r = rectAt(lightestWindow[area]!)
    if (inside(r)) lightest.push({ id: `thin-${a + 1}`, kind: 'solid', area: a + 1, rect: r })
  })

  // Base: clear film away from ink, and from open light and holder where the film's own rim bends light.
  const baseMarks = mappedLabels(regions.labels, { [BASE]: 1 })
  const baseFits = fullWindows(baseMarks, columns, rows, across.blocks, along.blocks)
  const outside = mappedLabels(regions.labels, { [OPEN_LIGHT]: 1, [HOLDER]: 1 })
  const outsideSum = integralImage(outside, columns, rows)
  const rim = Math.ceil(RIM_UM / (blockPx * Math.min(umPerPixel.across, umPerPixel.along)))
  const isClear = (row: number, column: number): boolean => {
    if (baseFits[row * columns + column] === 0) return false
    const left = Math.max(0, column - rim)
    const top = Math.max(0, row - rim)
    const width = Math.min(columns, column + across.blocks + rim) - left
    const height = Math.min(rows, row + along.blocks + rim) - top
    return outsideSum.sum(left, top, width, height) === 0
  }
  // Every other window is enough to choose from: a quarter of the work on a page that is mostly clear.
  let clearWindows = 0
  for (let row = 0; row + along.blocks <= rows; row += 2)
    for (let column = 0; column + across.blocks <= columns; column += 2) {
      if (isClear(row, column)) clearWindows++
      else baseFits[row * columns + column] = 0
    }
  const baseStep = poolStep(clearWindows)
  const bases: number[] = []
  let turn = 0
  for (let row = 0; row + along.blocks <= rows; row += 2)
    for (let column = 0; column + across.blocks <= columns; column += 2)
      if (baseFits[row * columns + column] === 1 && turn++ % baseStep === 0) bases.push(row * columns + column)
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

/** Many thousands of windows say the same as every so many of them. */
function poolStep(windows: number): number {
  return Math.max(1, Math.floor(windows / 1500))
}

/** At most `most` windows (indices of their first cells), no two nearer than `apart`, spread by taking the one farthest from those taken. */
function spread(windows: readonly number[], columns: number, most: number, apart: number): number[] {
  if (windows.length === 0) return []
  const pool = windows.map(index => ({ index, column: index % columns, row: Math.floor(index / columns) }))
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
