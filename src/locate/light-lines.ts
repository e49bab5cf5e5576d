import { type BlockOverview, blockCentre } from '../imaging/block-overview.js'
import { labelComponents } from '../imaging/label-components.js'
import { lighterBlocks } from '../imaging/lighter-blocks.js'
import type { PixelPoint } from '../model/geometry.js'
import { BASE, OPEN_LIGHT, type Regions, SOLID } from './find-light.js'
import { type InkLevel, levelled } from './ink-level.js'

/** A thin light line across ink. */
export interface LightLine {
  readonly from: PixelPoint
  readonly to: PixelPoint
  readonly lengthMm: number
  /** Open area, mm2, and mean open width, mm. */
  readonly openMm2: number
  readonly widthMm: number
  /** Standard deviation of its open width over the mean, taken four blocks at a time; 0 when too short. */
  readonly uneven: number
  /** Farthest it departs from the straight line between its ends, mm. */
  readonly bow: number
  /** Solids it runs through, and how many of its two ends lie in clear film. */
  readonly solids: readonly number[]
  readonly endsInClear: number
  /** Its blocks, by their number in the overview. */
  readonly blocks: readonly number[]
}

/** Blocks across a line, both sides together, between the solids on either side: two straddled ones, one more on the skew. */
const WIDEST_BLOCKS = 4
/** Least length, mm, and how many times longer than wide: between the strokes of letters gaps are shorter. Shorter scratches are found as spots. */
const LEAST_LENGTH = 1.5
const LEAST_RATIO = 15
/** A line no block of which lets through more than this share of clear light is none that an artwork leaves open: found from this length on, mm, where it is thin. */
const FAINT_SHARE = 0.1
const LEAST_FAINT_LENGTH = 0.7
const FAINT_SPREAD = 0.5
/** A line lets at least this share of the clear light through a block, and stands out of the solid's scatter by so many times. */
const LEAST_SHARE = 0.004
const LEAST_SIGMAS = 8

/** How far a line's light lies from its middle, step by step, at most: blocks, rms. */
const WIDEST_SPREAD = 1
/** A line that goes on to the rim of its solid is last seen so many blocks before it on the average: those at the rim tell nothing of a line. */
const TO_RIM = 1.5
/** Blocks left out at either end, and averaged. */
const END_STEPS = 2
const MEAN_STEPS = 4

const WAYS = [
  [0, 1],
  [1, 0],
  [1, 1],
  [1, -1],
] as const

/**
 * Thin light lines in ink on the overview: chains of blocks lighter than the solid on both sides of them. What a line lets through is the sum of what its
 * blocks have above their solid, so its width is told far below a block.
 * @param span light of clear film less that of solids
 */
export function lightLines(
  overview: BlockOverview,
  regions: Regions,
  ink: InkLevel,
  span: number,
  umPerPixel: { readonly across: number; readonly along: number },
): LightLine[] {
  const { columns, rows, light, blockPx } = overview
  const n = columns * rows
  const blockX = (blockPx * umPerPixel.across) / 1000
  const blockY = (blockPx * umPerPixel.along) / 1000
  const marks = new Uint8Array(n)
  // Of the marked blocks alone: which, in rising order, and what each lets through.
  let marked = new Int32Array(4096)
  let shares = new Float32Array(4096)
  let markedCount = 0
  /** How many steps to a solid one way, its area in `metArea`; 0 when clear film or the border comes first. */
  let metArea = 0
  const toSolid = (r: number, c: number, dr: number, dc: number): number => {
    for (let k = 1; k < WIDEST_BLOCKS; k++) {
      const rr = r + k * dr
      const cc = c + k * dc
      if (rr < 0 || cc < 0 || rr >= rows || cc >= columns) return 0
      const i = rr * columns + cc
      const label = regions.labels[i]!
      if (label === BASE || label === OPEN_LIGHT) return 0
      if (label !== SOLID) continue
      const area = ink.area[i]!
      // A solid's own light part is no side of it.
      if (light[i]! > ink.light[area]! + floors[area]!) continue
      metArea = area
      return k
    }
    return 0
  }
  const floors = Float64Array.from(ink.light, (level, area) =>
    Math.max(LEAST_SHARE * span, LEAST_SIGMAS * ink.scatter[area]!, 0.3 * Math.max(0, level)),
  )

  for (const i of lighterBlocks(levelled(light, regions, ink), floors, [BASE, OPEN_LIGHT])) {
    const c = i % columns
    const r = (i - c) / columns
    for (const [dr, dc] of WAYS) {
      const one = toSolid(r, c, dr, dc)
      if (one === 0) continue
      const area = metArea
      const other = toSolid(r, c, -dr, -dc)
      if (other === 0 || one + other > WIDEST_BLOCKS) continue
      const level = Math.min(ink.light[area]!, ink.light[metArea]!)
      const above = light[i]! - level
      if (above <= Math.max(floors[area]!, floors[metArea]!)) continue
      marks[i] = 1
      if (markedCount === marked.length) {
        const more = new Int32Array(2 * markedCount)
        more.set(marked)
        marked = more
        const moreShares = new Float32Array(2 * markedCount)
        moreShares.set(shares)
        shares = moreShares
      }
      marked[markedCount] = i
      shares[markedCount++] = above / span
      break
    }
  }

  const { labels, groups } = labelComponents(marks, columns, rows)
  const lines: LightLine[] = []
  for (const g of groups) {
    const across = (g.right - g.left + 1) * blockX
    const along = (g.bottom - g.top + 1) * blockY
    if (Math.hypot(across, along) < LEAST_FAINT_LENGTH) continue
    const line = lineThrough(g)
    if (line === null) continue
    lines.push(line)
  }
  return lines

  /** What a marked block lets through. */
  function shareOf(block: number): number {
    let low = 0
    let high = markedCount - 1
    while (low < high) {
      const middle = (low + high) >> 1
      if (marked[middle]! < block) low = middle + 1
      else high = middle
    }
    return shares[low]!
  }

  function lineThrough(g: {
    label: number
    left: number
    top: number
    right: number
    bottom: number
  }): LightLine | null {
    let sum = 0
    let sx = 0
    let sy = 0
    const cells: { x: number; y: number; w: number }[] = []
    const blocks: number[] = []
    for (let r = g.top; r <= g.bottom; r++)
      for (let c = g.left; c <= g.right; c++) {
        const i = r * columns + c
        if (labels[i] !== g.label) continue
        const w = shareOf(i)
        const x = c * blockX
        const y = r * blockY
        sum += w
        sx += w * x
        sy += w * y
        cells.push({ x, y, w })
        blocks.push(i)
      }
    const mx = sx / sum
    const my = sy / sum
    let xx = 0
    let yy = 0
    let xy = 0
    for (const { x, y, w } of cells) {
      xx += w * (x - mx) ** 2
      yy += w * (y - my) ** 2
      xy += w * (x - mx) * (y - my)
    }
    const angle = Math.atan2(2 * xy, xx - yy) / 2
    const cos = Math.cos(angle)
    const sin = Math.sin(angle)
    let low = Number.POSITIVE_INFINITY
    let high = Number.NEGATIVE_INFINITY
    for (const { x, y } of cells) {
      const t = (x - mx) * cos + (y - my) * sin
      low = Math.min(low, t)
      high = Math.max(high, t)
    }
    // A line that ends somewhere in its last blocks ends in their middles on the average, and begins so.
    const block = Math.sqrt(blockX * blockY)
    const lengthMm = high - low
    const openMm2 = sum * blockX * blockY
    const widthMm = openMm2 / (lengthMm + block / 2)
    const faint = lengthMm < LEAST_LENGTH
    if (!(lengthMm >= LEAST_FAINT_LENGTH && lengthMm >= LEAST_RATIO * widthMm)) return null
    if (faint && cells.some(({ w }) => w > FAINT_SHARE)) return null
    // Block by block along its main way, so that each step is as long as the next: how wide, and how far off the straight line.
    const alongRows = Math.abs(cos) * blockY >= Math.abs(sin) * blockX
    const start = alongRows ? g.left : g.top
    const steps = (alongRows ? g.right : g.bottom) - start + 1
    const wide = new Float64Array(steps)
    const off = new Float64Array(steps)
    for (const { x, y, w } of cells) {
      const k = Math.round(alongRows ? x / blockX : y / blockY) - start
      wide[k]! += w
      off[k]! += w * (-(x - mx) * sin + (y - my) * cos)
    }
    // A line lies in one or two blocks of each step; a row of letters left open in ink is spread over more.
    let aside = 0
    for (const { x, y, w } of cells) {
      const k = Math.round(alongRows ? x / blockX : y / blockY) - start
      aside += w * (-(x - mx) * sin + (y - my) * cos - off[k]! / wide[k]!) ** 2
    }
    if (Math.sqrt(aside / sum) > (faint ? FAINT_SPREAD : WIDEST_SPREAD) * block) return null
    // The ends are seen in part, and what lies between two blocks is told by neither alone.
    const means: number[] = []
    let bow = 0
    for (let k = END_STEPS; k + MEAN_STEPS <= steps - END_STEPS; k += MEAN_STEPS) {
      let w = 0
      let o = 0
      for (let j = k; j < k + MEAN_STEPS; j++) {
        w += wide[j]!
        o += off[j]!
      }
      means.push(w)
      if (w > 0) bow = Math.max(bow, Math.abs(o / w))
    }
    const mean = means.reduce((a, b) => a + b, 0) / Math.max(1, means.length)
    const uneven =
      means.length >= 2 ? Math.sqrt(means.reduce((a, b) => a + (b - mean) ** 2, 0) / means.length) / mean : 0
    const at = (t: number): PixelPoint => ({
      column: blockCentre(overview, (mx + t * cos) / blockX),
      row: blockCentre(overview, (my + t * sin) / blockY),
    })
    const solids = new Set<number>()
    let endsInClear = 0
    let from = low
    let to = high
    for (const [t, way] of [
      [low, -1],
      [high, 1],
    ] as const)
      for (let k = 1; k <= 4; k++) {
        const r = Math.round((my + (t + way * k * block) * sin) / blockY)
        const c = Math.round((mx + (t + way * k * block) * cos) / blockX)
        const label = r < 0 || c < 0 || r >= rows || c >= columns ? 0 : regions.labels[r * columns + c]!
        if (label === SOLID) break
        if (label === BASE || label === OPEN_LIGHT) {
          endsInClear++
          if (way < 0) from -= TO_RIM * block
          else to += TO_RIM * block
          break
        }
      }
    for (const { x, y } of cells) {
      const c = Math.round(x / blockX)
      const r = Math.round(y / blockY)
      for (const [dr, dc] of WAYS) if (toSolid(r, c, dr, dc) > 0) solids.add(metArea)
    }
    return {
      from: at(from),
      to: at(to),
      lengthMm: to - from,
      openMm2: openMm2 + (to - from - lengthMm) * widthMm,
      widthMm,
      uneven,
      bow,
      solids: [...solids],
      endsInClear,
      blocks,
    }
  }
}
